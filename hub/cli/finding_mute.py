"""`stringcourse finding mute`, `mutes`, `unmute`: planned work, of which nobody is told."""

import time
from typing import Annotated

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table, say
from hub.cli.times import length_ms, local_time, moment_ms
from hub.health.kinds import FindingKind


def mute(
    reason: Annotated[str, typer.Option(metavar="TEXT", help="What is being done, for whoever wonders at the quiet.")],
    node: Annotated[
        list[str] | None, typer.Option(metavar="NODE", help="Findings of this node; again for each.")
    ] = None,
    zone: Annotated[
        list[str] | None, typer.Option(metavar="ZONE", help="Findings of every node with pixels in it; again for each.")
    ] = None,
    kind: Annotated[list[FindingKind] | None, typer.Option(help="Only this kind; again for each.")] = None,
    begin: Annotated[str | None, typer.Option("--from", metavar="TIME", help="When it begins; without it now.")] = None,
    until: Annotated[str | None, typer.Option(metavar="TIME", help="When it ends, such as 2026-11-28T18:00.")] = None,
    length: Annotated[str | None, typer.Option("--for", metavar="LENGTH", help="How long: 90m, 12h or 7d.")] = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Plan work: while it lasts its findings are shown but told to nobody. Without node and zone it covers everything.

    What is still wrong at its end is told then. Give --until or --for.

    Examples: `finding mute --node bay-01 --for 2h --reason "new fascia"`,
    `finding mute --zone foyer --from 2026-11-28T22:00 --until 2026-11-29T06:00 --reason "mains tested"`.
    """
    from_ms = None if begin is None else moment_ms("--from", begin)
    if (until is None) == (length is None):
        raise CommandError(ExitCode.BAD_INPUT, "give the end by --until or by --for, and not by both")
    if until is not None:
        until_ms = moment_ms("--until", until)
    else:
        until_ms = (round(time.time() * 1_000) if from_ms is None else from_ms) + length_ms("--for", length or "")
    body = {
        "nodes": node or [],
        "zones": zone or [],
        "kinds": [one.value for one in kind or []],
        "from_ms": from_ms,
        "until_ms": until_ms,
        "reason": reason,
    }
    with HubClient(hub) as client:
        made = client.call("POST", path_of("venues", chosen_venue(client, venue), "mutes"), json=body).json()
    if as_json:
        print_json(made)
    else:
        mute_id, until_at = made["id"], local_time(made["until_ms"])
        say(f"mute {mute_id} until {until_at}; `stringcourse finding unmute {mute_id}` ends it")


def list_mutes(
    venue: VenueOption = None,
    every: Annotated[bool, typer.Option("--all", help="Those that are over, too.")] = False,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """List planned work, newest first."""
    with HubClient(hub) as client:
        mutes = client.every(path_of("venues", chosen_venue(client, venue), "mutes"), over=every or None)
    if as_json:
        print_json(mutes)
        return
    rows = [
        (
            one["id"],
            local_time(one["from_ms"]),
            local_time(one["until_ms"]),
            ", ".join(one["nodes"]) or None,
            ", ".join(one["zones"]) or None,
            ", ".join(one["kinds"]) or "all",
            one["reason"],
            one["made_by"],
            local_time(one["lifted_at_ms"]),
        )
        for one in mutes
    ]
    print_table(("mute", "from", "until", "nodes", "zones", "kinds", "reason", "by", "lifted"), rows)


def unmute(
    mute: Annotated[str, typer.Argument(metavar="MUTE", help="Its number; `finding mutes` shows it.")],
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """End planned work now: what is still wrong is told."""
    with HubClient(hub) as client:
        client.call("DELETE", path_of("venues", chosen_venue(client, venue), "mutes", mute))
    say(f"mute {mute} lifted")
