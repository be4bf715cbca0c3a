"""`stringcourse finding`: what is wrong and what was, who is on it, the digest of a day, planned work."""

import sys
from typing import Annotated

import typer

from hub.cli import finding_mute
from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.exit_code import ExitCode
from hub.cli.finding_printing import print_finding, print_findings
from hub.cli.printing import print_json, print_table, say
from hub.health.kinds import FindingKind, FindingState, Severity

group = typer.Typer(
    help="Findings: what is wrong, since when, its likely cause and what to check next; who is on it; planned work.",
    no_args_is_help=True,
)
group.command("mute")(finding_mute.mute)
group.command("mutes")(finding_mute.list_mutes)
group.command("unmute")(finding_mute.unmute)

FindingId = Annotated[str, typer.Argument(metavar="FINDING", help="Its number; `finding list` shows it.")]


@group.command("list")
def list_findings(
    venue: VenueOption = None,
    every: Annotated[bool, typer.Option("--all", help="Those that ended, too.")] = False,
    kind: Annotated[FindingKind | None, typer.Option(help="Only this kind.")] = None,
    node: Annotated[str | None, typer.Option(metavar="NODE", help="Only this node's.")] = None,
    severity: Annotated[Severity | None, typer.Option(help="Only this severity.")] = None,
    state: Annotated[FindingState | None, typer.Option(help="Only those in this state; `ended` needs --all.")] = None,
    folded: Annotated[bool, typer.Option("--folded", help="Those that another finding stands for, too.")] = False,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """List the findings of a venue, newest first. Exits 1 while one is open, so that a program can tell.

    What nodes share (a supply, a network switch, a zone, the venue) is told as one finding that stands for theirs:
    `--folded` lists these too, `finding show` names them.
    """
    with HubClient(hub) as client:
        findings = client.every(
            path_of("venues", chosen_venue(client, venue), "findings"),
            open=None if every else True,
            kind=kind and kind.value,
            node=node,
            severity=severity and severity.value,
            state=state and state.value,
            folded=folded or None,
        )
    if as_json:
        print_json(findings)
    elif not findings:
        say("no findings" if every else "no open findings")
    else:
        print_findings(findings)
    sys.stdout.flush()
    if any(one["ended_at_ms"] is None for one in findings):
        raise typer.Exit(ExitCode.NO)


@group.command()
def show(finding: FindingId, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """Show one finding: likely cause, next check, cautions, the nodes that it stands for, what happened to it."""
    with HubClient(hub) as client:
        found = client.get(path_of("venues", chosen_venue(client, venue), "findings", finding))
    if as_json:
        print_json(found)
    else:
        print_finding(found)


@group.command()
def acknowledge(
    finding: FindingId,
    note: Annotated[str | None, typer.Option(metavar="TEXT", help="What is being done, or known.")] = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Say that you are on it: nobody is notified of it any more. Your token's name is kept with it.

    Example: `finding acknowledge 42 --note "on my way with a fuse"`.
    """
    _post(finding, "acknowledge", {"note": note}, "acknowledged", venue, hub, as_json=as_json)


@group.command()
def note(
    finding: FindingId,
    text: Annotated[str, typer.Argument(metavar="TEXT", help="What you saw or did.")],
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Add a note to a finding's history, open or ended. Example: `finding note 42 "fuse F2 was open"`."""
    _post(finding, "notes", {"text": text}, "noted", venue, hub, as_json=as_json)


@group.command()
def digest(
    day: Annotated[str | None, typer.Option(metavar="YYYY-MM-DD", help="A local day; without it today.")] = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Tell a day in a few sentences: what is still wrong, what came and went."""
    with HubClient(hub) as client:
        found = client.get(path_of("venues", chosen_venue(client, venue), "findings", "digest"), day=day)
    if as_json:
        print_json(found)
        return
    for sentence in found["sentences"]:
        say(sentence)
    if found["rows"]:
        say()
        rows = [(one["id"], one["state"], one["severity"], one["message"], one["next_check"]) for one in found["rows"]]
        print_table(("finding", "state", "severity", "what is wrong", "what to check"), rows)


def _post(
    finding: str, step: str, body: dict[str, str | None], done: str, venue: str | None, hub: str, *, as_json: bool
) -> None:
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "findings", finding, step)
        answer = client.call("POST", path, json=body).json()
    if as_json:
        print_json(answer)
    else:
        say(f"finding {answer['id']} {done}: {answer['message']}")
