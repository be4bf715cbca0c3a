"""`stringcourse zone`: the zones of a venue, and how much of a scene's light and which white each shows."""

from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table, say

group = typer.Typer(help="Zones: list them; trim their light and their white.", no_args_is_help=True)

ZoneId = Annotated[str, typer.Argument(metavar="ZONE", help="Id of the zone.", show_default=False)]


@group.command("list")
def list_zones(venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """List the zones of a venue: pixels of their own or the zones they join, trim and white point."""
    with HubClient(hub) as client:
        zones = client.every(path_of("venues", chosen_venue(client, venue), "zones"))
    if as_json:
        print_json(zones)
        return
    columns = ("zone", "title", "pixels", "joins", "trim", "white point K")
    rows = [
        (
            zone["id"],
            zone["title"],
            sum(span["pixels"] for span in zone["spans"]) or None,
            ", ".join(zone["of"]) or None,
            zone["trim"],
            zone["white_point_k"],
        )
        for zone in zones
    ]
    print_table(columns, rows)


@group.command()
def trim(
    zone: ZoneId,
    level: Annotated[
        float | None, typer.Option(min=0, max=1, metavar="LEVEL", help="Linear gain of its light; 1 leaves it.")
    ] = None,
    white_k: Annotated[
        float | None,
        typer.Option(min=1_000, max=20_000, metavar="K", help="What scenes call white looks like so many kelvin here."),
    ] = None,
    scenes_white: Annotated[
        bool, typer.Option("--scenes-white", help="No white point: white is what the scene says.")
    ] = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Trim a zone: how much of every scene's light it shows, and which white. A rollout follows.

    For the stretch that stands too near the window, or the run whose neighbours are warm lamps. Half the light looks
    like about three quarters. A pixel in several zones gets all their trims, multiplied. To make one kind of pixel look
    like another, set its run's white_balance instead: screens leave that out and show trims.

    Example: stringcourse zone trim gable --level 0.7 --white-k 3000
    """
    if white_k is not None and scenes_white:
        raise CommandError(ExitCode.BAD_INPUT, "--white-k and --scenes-white: give one of them")
    wanted: dict[str, Any] = {}
    if level is not None:
        wanted["trim"] = level
    if white_k is not None or scenes_white:
        wanted["white_point_k"] = white_k
    if not wanted:
        raise CommandError(ExitCode.BAD_INPUT, "nothing to trim: give --level, --white-k or --scenes-white")
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "zones", zone)
        found = client.call("GET", path)
        before = found.json()
        headers = {"If-Match": found.headers["ETag"]}
        after = client.call("PUT", path, json=before | wanted, headers=headers).json()
    if as_json:
        print_json(after)
        return
    if after == before:
        say(f"{zone} is trimmed so already; nothing changes.")
        return
    say(f"{zone}: {_trimmed(before)} → {_trimmed(after)}. The scene in force is rolled out with it.")


def _trimmed(zone: dict[str, Any]) -> str:
    white = zone["white_point_k"]
    return f"level {zone['trim']:g}, " + ("white as scenes say" if white is None else f"white of {white:g} K")
