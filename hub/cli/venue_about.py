"""`stringcourse venue about`: what a venue says of itself beside its items."""

from typing import Annotated, Any

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table, say

TitleOption = Annotated[str | None, typer.Option("--title", metavar="TEXT", help="Its name on screens and paper.")]
OpeningScene = Annotated[
    str | None, typer.Option("--opening-scene", metavar="SCENE", help="Taken when the venue shows nothing yet.")
]
TimeZone = Annotated[
    str | None,
    typer.Option("--time-zone", metavar="NAME", help="Of its timetable and its days: Europe/Vienna, UTC."),
]
Latitude = Annotated[
    float | None, typer.Option("--latitude", metavar="DEGREES", help="WGS 84, north positive, for the sun.")
]
Longitude = Annotated[float | None, typer.Option("--longitude", metavar="DEGREES", help="WGS 84, east positive.")]
Approvals = Annotated[
    bool | None,
    typer.Option(
        "--approvals/--no-approvals", help="Whether a planned rollout waits until a second person approves it."
    ),
]


def about(
    title: TitleOption = None,
    opening_scene: OpeningScene = None,
    time_zone: TimeZone = None,
    latitude: Latitude = None,
    longitude: Longitude = None,
    approvals: Approvals = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Show what a venue says of itself, or set what is given: names, place, time zone, who approves.

    Another place or time zone moves the coming takes of the timetable. Nothing that shows now changes.

    Example: stringcourse venue about --time-zone Europe/Vienna --latitude 48.2 --longitude 16.4
    """
    if (latitude is None) != (longitude is None):
        raise CommandError(ExitCode.BAD_INPUT, "a place has both: give --latitude and --longitude")
    wanted = {
        "title": title,
        "opening_scene": opening_scene,
        "time_zone": time_zone,
        "place": None if latitude is None else {"latitude_deg": latitude, "longitude_deg": longitude},
        "approves_rollouts": approvals,
    }
    given = {name: value for name, value in wanted.items() if value is not None}
    with HubClient(hub) as client:
        chosen = chosen_venue(client, venue)
        path = path_of("venues", chosen, "particulars")
        read = client.call("GET", path)
        told = read.json()
        if given:
            told = client.call("PUT", path, json=told | given, headers={"If-Match": read.headers["ETag"]}).json()
    if as_json:
        print_json(told)
        return
    if given:
        say(f"{chosen}: set {', '.join(name.replace('_', ' ') for name in given)}.")
    print_table(("what", "value"), [("venue", chosen), *_rows(told)])


def _rows(told: dict[str, Any]) -> list[tuple[str, object]]:
    place, tariff = told["place"], told["tariff"]
    return [
        ("title", told["title"]),
        ("note", told["note"]),
        ("opening scene", told["opening_scene"]),
        ("time zone", told["time_zone"]),
        ("place", place and f"{place['latitude_deg']:g}° north, {place['longitude_deg']:g}° east"),
        ("tariff", tariff and f"{tariff['per_kwh']:g} {tariff['currency']} per kWh"),
        ("approvals", "a second person approves" if told["approves_rollouts"] else "none needed"),
    ]
