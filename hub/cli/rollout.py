"""`stringcourse rollout`: plan one, conduct it, see how it went, go back."""

from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table
from hub.cli.rollout_plan import plan
from hub.cli.rollout_printing import COLUMNS, follow, row_of, say_outcome, say_rollout

group = typer.Typer(help="Rollouts: plan, conduct, see how they went, go back.", no_args_is_help=True)

NoWait = Annotated[bool, typer.Option("--no-wait", help="Do not wait for the outcome.")]
Revision = Annotated[
    int, typer.Argument(metavar="REVISION", help="The rollout's revision, as `rollout show` lists it.")
]

group.command("plan", help=plan.__doc__)(plan)
group.command(
    "dry-run",
    help="Show what such a plan would do as things stand: its batches, and for each node what would differ.\n\n"
    "Takes the options of `rollout plan`. Nothing is sent to any node.",
)(plan)


@group.command()
def show(
    revision: Annotated[
        int | None, typer.Argument(metavar="REVISION", help="A revision; without it, the newest ones are listed.")
    ] = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Show the newest rollouts, or one with its batches, the time left, and every reason that stopped it."""
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "rollouts")
        answer = client.get(path, limit=20) if revision is None else client.get(path + path_of(str(revision)))
    if as_json:
        print_json(answer)
    elif revision is None:
        print_table((*COLUMNS, "reason"), [row_of(rollout) for rollout in answer["items"]])
    else:
        say_rollout(answer)


@group.command()
def approve(
    revision: Revision,
    no_wait: NoWait = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Approve a rollout that someone else planned. Your token must carry your name (`token new --name`)."""
    _conduct("approve", revision, venue, hub, wait=not no_wait, as_json=as_json)


@group.command()
def pause(
    revision: Revision, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False
) -> None:
    """Begin no further batch. A take that is decided still comes."""
    _conduct("pause", revision, venue, hub, wait=False, as_json=as_json)


@group.command()
def resume(
    revision: Revision,
    no_wait: NoWait = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Go on with a rollout that was paused."""
    _conduct("resume", revision, venue, hub, wait=not no_wait, as_json=as_json)


@group.command()
def halt(revision: Revision, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """Stop a rollout. Batches that were taken stay as they are: `rollout revert` puts them back."""
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        halted = client.call("POST", path_of("venues", chosen, "rollouts", str(revision), "halt")).json()
    if as_json:
        print_json(halted)
    else:
        say_rollout(halted)


@group.command()
def revert(
    revision: Revision,
    no_wait: NoWait = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Stop a rollout and put back, on every node, what was in force before it."""
    _conduct("revert", revision, venue, hub, wait=not no_wait, as_json=as_json)


@group.command()
def go(
    revision: Revision,
    no_wait: NoWait = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Take the batch that is staged and waits for you. (`stringcourse go` takes the next cue.)"""
    _conduct("go", revision, venue, hub, wait=not no_wait, as_json=as_json)


@group.command()
def back(
    no_wait: NoWait = False, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False
) -> None:
    """Take what was taken before, scene and wiring as they then were, on every node at one instant.

    Exits 1 when the rollout is halted: then nothing changed. (`stringcourse back` minds the cue list in hand.)
    """
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        started = client.call("POST", path_of("venues", chosen, "rollouts", "back")).json()
        report_outcome(client, chosen, started, wait=not no_wait, as_json=as_json)


def report_outcome(client: HubClient, venue: str, started: dict[str, Any], *, wait: bool, as_json: bool) -> None:
    """Say how a rollout that has just been started goes; waits for its end. Exits 1 when it is halted or reverted."""
    rollout = follow(client, venue, started, quiet=as_json) if wait else started
    if as_json:
        print_json(rollout)
        if rollout["state"] in ("halted", "reverted"):
            raise typer.Exit(ExitCode.NO)
    else:
        say_outcome(rollout)


def _conduct(step: str, revision: int, venue: str | None, hub: str, *, wait: bool, as_json: bool) -> None:
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        answer = client.call("POST", path_of("venues", chosen, "rollouts", str(revision), step)).json()
        report_outcome(client, chosen, answer, wait=wait, as_json=as_json)
