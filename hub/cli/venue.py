"""`stringcourse venue`: check a venue file, load it into a hub, export it, list venues; master level, particulars."""

from pathlib import Path
from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.files import Force, check_free, write_whole
from hub.cli.printing import complain, print_json, print_mistakes, print_table, printable, say
from hub.cli.venue_about import about
from hub.errors import InvalidError
from hub.venue_file import read_bytes, read_venue, read_venue_file
from schemas.venue import Venue

group = typer.Typer(help="Venue files: check, load, export; how bright the whole venue is.", no_args_is_help=True)

VenueFile = Annotated[Path, typer.Argument(metavar="FILE", help="Venue file (YAML).", show_default=False)]
VenueId = Annotated[str, typer.Argument(metavar="VENUE", help="Id of the venue.", show_default=False)]


@group.command()
def check(file: VenueFile, as_json: AsJson = False) -> None:
    """Find every mistake in a venue file, with its line. Needs no hub. Exits 1 where there is one."""
    try:
        venue = read_venue_file(file)
    except InvalidError as error:
        if as_json:
            print_json(
                {
                    "mistakes": [
                        {"field": one.field, "reason": one.reason, "remedy": one.remedy, "line": one.line}
                        for one in error.mistakes
                    ]
                }
            )
        else:
            complain(error.detail)
            print_mistakes(error.mistakes, error=False)
        raise typer.Exit(ExitCode.NO) from error
    if as_json:
        print_json({"mistakes": []})
    else:
        say(f"{file}: no mistakes. {_size_of(venue)}.")


@group.command()
def load(
    file: VenueFile,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask; load it.")] = False,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Show what a venue file will change in the hub, ask, and load it: all of it, or nothing.

    With --json it never asks: without --yes it only tells what would change.
    """
    try:
        data = read_bytes(file)
        venue = read_venue(data)
    except InvalidError as error:
        raise CommandError(ExitCode.BAD_INPUT, error.detail, error.mistakes) from error
    path = path_of("venues", venue.id)
    with HubClient(hub) as client:
        headers = {"Content-Type": "application/yaml"} | _precondition(client, path)
        preview = client.call("PUT", path, query={"dry_run": True}, content=data, headers=headers).json()
        if not as_json:
            _print_changes(venue.id, preview["changes"])
        if as_json and not yes:
            print_json(preview)
            return
        if preview["changes"] and not yes and not typer.confirm("Load it?", default=False):
            complain("nothing was changed")
            raise typer.Exit(ExitCode.NO)
        loaded = client.call("PUT", path, content=data, headers=headers).json() if preview["changes"] else preview
    if as_json:
        print_json(loaded)
    elif loaded["done"]:
        say(f"{venue.id} is loaded. {_size_of(venue)}.")


@group.command()
def export(
    venue: VenueId,
    file: Annotated[Path | None, typer.Argument(help="File to write; standard output without it.")] = None,
    force: Force = False,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Write a venue as a file that a person can read and edit. Loading it gives the same venue."""
    if file is not None:
        check_free(file, force=force)
    with HubClient(hub) as client:
        text = client.call("GET", path_of("venues", venue, "export")).text
    if file is None:
        typer.echo(text, nl=False)
        return
    write_whole({file: text.encode()})


@group.command("list")
def list_venues(hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """List the hub's venues and how large they are."""
    with HubClient(hub) as client:
        venues = client.every("/venues")
    if as_json:
        print_json(venues)
        return
    columns = ("id", "title", "nodes", "channels", "pixels", "supplies", "zones", "scenes")
    print_table(columns, [[venue[column] for column in columns] for venue in venues])


@group.command()
def level(
    level: Annotated[
        float | None, typer.Argument(min=0, max=1, metavar="LEVEL", help="0 to 1; without it the level is shown.")
    ] = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Show or set the master level: the linear gain of everything that the venue shows, in every scene.

    It needs no yes, since one command undoes it. The scene in force is rolled out with it. Half the light looks like
    about three quarters. Questions to a board, such as identify, keep their own level. 0 is dark, but for work on the
    wires switch the supplies off: a level protects nobody.

    Example: stringcourse venue level 0.6
    """
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        path = path_of("venues", chosen, "master-level")
        answer = client.get(path) if level is None else client.call("PUT", path, json={"level": level}).json()
    if as_json:
        print_json(answer)
    elif level is None:
        say(f"{chosen}: master level {answer['level']:g}")
    elif answer["before"] == answer["level"]:
        say(f"{chosen}: the master level is {answer['level']:g} already; nothing changes.")
    else:
        say(
            f"{chosen}: master level {answer['before']:g} → {answer['level']:g}. "
            "The scene in force is rolled out with it."
        )


group.command()(about)


def _precondition(client: HubClient, path: str) -> dict[str, str]:
    """What must still hold when the file is loaded: that the venue is as it is now."""
    try:
        return {"If-Match": client.call("GET", path).headers["ETag"]}
    except CommandError as error:
        if error.exit_code is not ExitCode.NOT_FOUND:
            raise
        return {"If-None-Match": "*"}


def _print_changes(venue: str, changes: list[dict[str, Any]]) -> None:
    if not changes:
        say(f"{venue} is the same in the hub already; there is nothing to change.")
        return
    print_table(
        ("change", "what", "id", "fields"),
        [(one["kind"], one["noun"], one["id"], _fields_of(one["fields"])) for one in changes],
    )


def _fields_of(fields: list[dict[str, Any]]) -> str:
    return "; ".join(f"{one['field']}: {printable(one['before'])} → {printable(one['after'])}" for one in fields)


def _size_of(venue: Venue) -> str:
    channels = [channel for node in venue.nodes for channel in node.channels]
    counts = (
        (len(venue.nodes), "node"),
        (len(channels), "channel"),
        (sum(channel.run.pixels for channel in channels), "pixel"),
        (len(venue.zones), "zone"),
        (len(venue.scenes), "scene"),
    )
    supplies = f"{len(venue.supplies)} suppl{'y' if len(venue.supplies) == 1 else 'ies'}"
    return ", ".join([f"{count} {noun}{'' if count == 1 else 's'}" for count, noun in counts] + [supplies])
