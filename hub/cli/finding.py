"""`stringcourse finding`: what is wrong, and what was."""

import sys
from datetime import datetime
from typing import Annotated

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table, say
from hub.health.kinds import FindingKind

group = typer.Typer(help="Findings: what is wrong, since when, and what to check next.", no_args_is_help=True)


@group.callback()
def _group() -> None:
    # With a callback Typer keeps `list` a subcommand though it is the only one.
    pass


@group.command("list")
def list_findings(
    venue: VenueOption = None,
    every: Annotated[bool, typer.Option("--all", help="Those that ended, too.")] = False,
    kind: Annotated[FindingKind | None, typer.Option(help="Only this kind.")] = None,
    node: Annotated[str | None, typer.Option(metavar="NODE", help="Only this node's.")] = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """List the findings of a venue, newest first. Exits 1 while one is open, so that a program can tell."""
    with HubClient(hub) as client:
        findings = client.every(
            path_of("venues", chosen_venue(client, venue), "findings"),
            open=None if every else True,
            kind=kind and kind.value,
            node=node,
        )
    if as_json:
        print_json(findings)
    elif not findings:
        say("no findings" if every else "no open findings")
    else:
        columns = ("since", "until", "kind", "node", "supply", "what is wrong", "what to check")
        print_table(
            columns,
            [
                (
                    _local(one["started_at_ms"]),
                    _local(one["ended_at_ms"]),
                    one["kind"],
                    one["node"],
                    one["supply"],
                    one["message"],
                    one["next_check"],
                )
                for one in findings
            ],
        )
    sys.stdout.flush()
    if any(one["ended_at_ms"] is None for one in findings):
        raise typer.Exit(ExitCode.NO)


def _local(at_ms: int | None) -> str | None:
    return None if at_ms is None else datetime.fromtimestamp(at_ms / 1000).astimezone().strftime("%Y-%m-%d %H:%M:%S")
