"""`stringcourse timetable`: what is on when, why, and what is next; change it; hand it to a calendar."""

from datetime import datetime
from pathlib import Path
from typing import Annotated, Any
from zoneinfo import ZoneInfo

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.files import Force, check_free, write_whole
from hub.cli.printing import print_json, print_table, say
from hub.errors import InvalidError

group = typer.Typer(help="Timetable: when scenes are on, and why.", no_args_is_help=True)

SHAPE = "write `entries:` and below it a list, each with `id`, `scene`, `begins` and `ends`"
At = Annotated[
    str | None,
    typer.Option("--at", metavar="TIME", help="Local time at the venue, such as 2031-05-01T19:30; without it now."),
]
MonthArgument = Annotated[
    str | None, typer.Argument(metavar="MONTH", help="Such as 2031-05; without it the present one.", show_default=False)
]


@group.command()
def show(venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """List the entries. Where they overlap, dates win over a range of days, a range over the rest, lower over upper.

    --json prints what `timetable set` takes.
    """
    with HubClient(hub) as client:
        timetable = client.get(_path(client, venue))
    if as_json:
        print_json(timetable)
        return
    if not timetable["entries"]:
        say(
            "The timetable has no entries: scenes stay until someone takes another. `timetable set FILE` gives it some."
        )
        return
    columns = ("entry", "scene", "begins", "ends", "days", "fade s", "title")
    print_table(columns, [_row(entry) for entry in timetable["entries"]])


@group.command()
def why(at: At = None, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False) -> None:
    """Tell why a scene is on, over what it wins, who holds it, and what is next.

    Example: stringcourse timetable why --at 2031-12-24T18:00
    """
    with HubClient(hub) as client:
        path = f"{_path(client, venue)}/why"
        found = client.get(path)
        if at is not None:
            found = client.get(path, at_ms=_show_ms(at, found["time_zone"]))
    if as_json:
        print_json(found)
        return
    title = "" if found["scene_title"] is None else f" ({found['scene_title']})"
    say(f"{found['at']['local']} {found['time_zone']}: {_scene(found['scene'])}{title}")
    for sentence in found["told"]:
        say(sentence)


@group.command()
def month(
    month: MonthArgument = None, venue: VenueOption = None, hub: HubAddress = DEFAULT_HUB, as_json: AsJson = False
) -> None:
    """Print a month: the sun and what is on, day by day. Times are local; + marks the next day, - the day before."""
    with HubClient(hub) as client:
        found = client.get(f"{_path(client, venue)}/month", month=month)
    if as_json:
        print_json(found)
        return
    say(f"{found['month']}, {found['time_zone']}")
    print_table(("day", "sunrise", "sunset", "on", "notes"), [_day_row(day) for day in found["days"]])
    for one in found["left_out"]:
        say(f"{one['entry']} is left out: {one['reason']}.")


@group.command("set")
def set_timetable(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="YAML or JSON with `entries:`, as `show --json` prints it.")
    ],
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Put the timetable of a file in the place of the one before. Boards get it with the rollout that follows.

    Entries go out unattended: one whose scene fails the flash check counts only with `flash_confirmed_by`, the name of
    who answers for it. Where a room may go dark with people in it (stairs, ladders), leave a light that no timetable
    switches, and follow local rules.

    Example file:

    entries:

    - {id: evening, scene: dusk, begins: sunset, ends: "23:00", weekdays: [mon, tue, wed, thu, fri]}
    """
    from hub.timetable.view import Timetable  # not at the top: only this command reads files
    from hub.venue_file.part_file import read_part_file

    try:
        read = read_part_file(file, Timetable, "timetable", SHAPE)
    except InvalidError as error:
        raise CommandError(ExitCode.BAD_INPUT, error.detail, list(error.mistakes)) from error
    with HubClient(hub) as client:
        path = _path(client, venue)
        headers = {"If-Match": client.call("GET", path).headers["ETag"]}
        try:
            after = client.call("PUT", path, json=read.part.model_dump(mode="json"), headers=headers).json()
        except CommandError as error:
            raise CommandError(error.exit_code, error.detail, read.with_lines(error.mistakes, "body.")) from error
    if as_json:
        print_json(after)
        return
    say(f"The timetable has {len(after['entries'])} entries now; `stringcourse timetable why` tells what they do.")


@group.command()
def export(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="An .ics file, or - for standard output.")],
    days: Annotated[int, typer.Option(min=1, max=366, help="How many days from now on.")] = 366,
    force: Force = False,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
) -> None:
    """Write what is on in the coming days as an iCalendar file (RFC 5545), for any calendar."""
    check_free(file, force=force)
    with HubClient(hub) as client:
        written = client.call("GET", f"{_path(client, venue)}.ics", query={"days": days}).content
    write_whole({file: written})


def _path(client: HubClient, venue: str | None) -> str:
    return path_of("venues", chosen_venue(client, venue), "timetable")


def _show_ms(text: str, time_zone: str) -> int:
    try:
        at = datetime.fromisoformat(text)
        return round((at if at.tzinfo else at.replace(tzinfo=ZoneInfo(time_zone))).timestamp() * 1_000)
    except (ValueError, OverflowError) as error:
        raise CommandError(
            ExitCode.BAD_INPUT, f"--at {text!r} is no time; write it as 2031-05-01T19:30, local time at the venue"
        ) from error


def _scene(scene: str | None) -> str:
    return "darkness" if scene is None else scene


def _row(entry: dict[str, Any]) -> tuple[object, ...]:
    days = ", ".join(entry["dates"] or entry["weekdays"]) or entry["rule"] or "every day"
    bounds = [f"{word} {entry[key]}" for word, key in (("from", "first_day"), ("to", "last_day")) if entry[key]]
    excepted = [f"but {', '.join(entry['except_dates'])}"] if entry["except_dates"] else []
    return (
        entry["id"],
        _scene(entry["scene"]),
        entry["begins"],
        entry["ends"],
        " ".join([days, *bounds, *excepted]),
        entry["fade_ms"] / 1_000,
        entry["title"],
    )


def _day_row(day: dict[str, Any]) -> tuple[object, ...]:
    date = day["day"]
    sun = day["sun"] or {"sunrise": None, "sunset": None}
    on = [
        f"{_clock(spell['begins'], date)}–{_clock(spell['ends'], date)} {spell['entry']} ({_scene(spell['scene'])})"
        for spell in day["spells"]
    ]
    return (
        f"{datetime.fromisoformat(date):%a} {date}",
        *(None if sun[name] is None else _clock(sun[name], date) for name in ("sunrise", "sunset")),
        "; ".join(on),
        "; ".join(day["notes"]),
    )


def _clock(moment: dict[str, Any], date: str) -> str:
    """HH:MM:SS without seconds that are none; marked where it lies on another day than `date`."""
    local: str = moment["local"]
    day, time = local[:10], local[11:19].removesuffix(":00")
    return time + ("+" if day > date else "-" if day < date else "")
