"""`stringcourse history`: what a node, a supply or the venue told over time, as a chart of letters or as CSV."""

import shutil
import time
from pathlib import Path
from typing import Annotated, Any, Final

import typer

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.files import write_whole
from hub.cli.history_chart import chart
from hub.cli.printing import print_json, say
from hub.cli.times import UNITS_MS, length_ms, local_time
from hub.history.quantities import Quantity, SubjectKind

LONGEST: Final = "3652d"
MARGIN: Final = 12
NARROWEST, WIDEST = 20, 160
CSV_POINTS: Final = 2_000

Subject = Annotated[
    str | None, typer.Argument(metavar="[NODE|SUPPLY]", help="Id of the node or supply; without it the venue itself.")
]
IsSupply = Annotated[bool, typer.Option("--supply", help="The id is a supply's: its total over all its nodes.")]
Quantities = Annotated[
    list[Quantity] | None, typer.Option("--quantity", help="What to tell; again for each. Without it amps.")
]
Since = Annotated[
    str, typer.Option(metavar="TIME", help="How far back: minutes, hours or days, such as 90m, 12h or 7d.")
]
CsvFile = Annotated[
    Path | None,
    typer.Option("--csv", metavar="FILE", help="Write the points as CSV to FILE, or - for standard output."),
]


def history(
    subject: Subject = None,
    supply: IsSupply = False,
    quantity: Quantities = None,
    since: Since = "1d",
    venue: VenueOption = None,
    csv: CsvFile = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """Tell what a node, a supply or the venue told over time: o is the mean, | from lowest to highest.

    Kept: every sample for a day, minutes for a month, hours for ten years; the hub reads what fills the width. An empty
    column is time in which nothing was heard.

    Examples: `history bay-01 --quantity temperature --since 7d`, `history psu-3 --supply --csv psu-3.csv`,
    `history --quantity nodes-online --since 365d`.
    """
    if csv is not None and as_json:
        raise CommandError(ExitCode.BAD_INPUT, "--csv and --json exclude each other; leave one out")
    if supply and subject is None:
        raise CommandError(ExitCode.BAD_INPUT, "--supply needs the id of a supply; `stringcourse audit` lists them")
    until_ms = round(time.time() * 1_000)
    width = min(max(shutil.get_terminal_size().columns - MARGIN, NARROWEST), WIDEST)
    query = {
        "quantity": [one.value for one in quantity or [Quantity.AMPS]],
        "from_ms": max(0, until_ms - _milliseconds(since)),
        "until_ms": until_ms,
        "points": width if csv is None else CSV_POINTS,
    }
    kind = SubjectKind.VENUE if subject is None else SubjectKind.SUPPLY if supply else SubjectKind.NODE
    with HubClient(hub) as client:
        name = chosen_venue(client, venue)
        path = path_of("venues", name, "history", kind.value, subject or name)
        if csv is not None:
            write_whole({csv: client.call("GET", f"{path}.csv", query=query).content})
            return
        told = client.get(path, **query)
    if as_json:
        print_json(told)
    else:
        for one in told["quantities"]:
            _print_chart(told, one)


def _milliseconds(since: str) -> int:
    length = length_ms("--since", since)
    if length > length_ms("--since", LONGEST):
        raise CommandError(ExitCode.BAD_INPUT, f"--since {since!r} is longer than anything is kept; up to {LONGEST}")
    return length


def _print_chart(told: dict[str, Any], one: dict[str, Any]) -> None:
    say(f"{told['subject']}: {one['about']}, {one['unit']}")
    means = [value for value in one["mean"] if value is not None]
    if not means:
        say("nothing was told in this time")
        say()
        return
    for line in chart(one["low"], one["mean"], one["high"]):
        say(line)
    say(f"{local_time(told['at_ms'][0])} to {local_time(told['until_ms'])}, each column {_length(told['period_ms'])}")
    say()


def _length(period_ms: int) -> str:
    minutes = period_ms / UNITS_MS["m"]
    return f"{minutes:.3g} min" if minutes < 180 else f"{minutes / 60:.3g} h"
