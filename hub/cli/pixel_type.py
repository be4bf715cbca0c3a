"""`stringcourse pixel-type`: what is known of each kind of pixel, and a kind of one's own from readings of a meter."""

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated, Final, get_args

import typer
from pydantic import ValidationError

from hub.cli.client import AsJson
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table, say
from hub.desired.compile import pixel_types_of
from hub.electrical.measured import MeasuredPixelType, MeterReading, measured_pixel_type
from hub.errors import InvalidError
from hub.validation import mistakes_of
from hub.venue_file import read_venue_file, write_pixel_types
from schemas.pixel_catalogue import PIXEL_CATALOGUE
from schemas.pixel_type import ClockedTiming, NrzTiming, PixelType, ValueName

# How to read a data sheet into a type: the field, and where a sheet has it.
READING_A_SHEET: Final = (
    ("key, title", "yours; neutral words: emitters, volts, protocol"),
    ("volts", "the supply voltage that the run is sold for"),
    ("minimum_volts", "lower end of 'recommended operating conditions', or of the supply range; at the pixel"),
    ("current_below_minimum", "'falls' where a curve shows it or LEDs stand in series; else leave it out"),
    ("colour_order", "'composition of the data', first bit sent first: GRB, RGB, BGR, GRBW"),
    ("leds_per_pixel", "LEDs that one chip drives as one colour; 1 unless the chip stands apart from its LEDs"),
    ("timing, protocol nrz", "'data transfer time': t0h_us, t0l_us, t1h_us, t1l_us, tolerance_us, reset_us (RES); µs; "
     "of ranges take the centres, and half the narrowest as tolerance"),
    ("timing, protocol clocked", "clock_mhz to drive it with, highest_clock_mhz; start_bits, end_bits, "
     "end_bits_per_pixel (0.5: half a clock of delay a pixel)"),
    ("refresh_hz", "'scan' or 'refresh frequency' of the pixel itself; leave it out if not stated"),
    ("idle_ma", "quiescent or static current of a pixel, everything dark"),
    ("full_ma", "current of each emitter at full: red, green, blue and, where there is one, white; of the whole pixel"),
    ("typical_ma", "no sheet has it: a third of full (common practice, no source)"),
    ("sources", "otherwise: the sheet and its issue; and by the same names what comes from elsewhere"),
)  # fmt: skip
_SHEET = "\n\n".join(f"{name}: {where}" for name, where in READING_A_SHEET)
CAUTIONS: Final = (
    "Switch the supply off and wait before the circuit is opened for the meter, and again before it is closed.",
    "Use a clamp meter, or a meter's fused socket for large currents; a run of 150 can draw 9 A and melt a thin lead.",
    "Full light is bright: look away. Measure on the DC side only; mains is for a licensed electrician.",
)

group = typer.Typer(
    help="Kinds of pixel: what is known of each, with its source; your own from a data sheet or from a meter.",
    epilog=f"How to read a data sheet into a type, under `pixel_types` of a venue file.\n\n{_SHEET}",
    no_args_is_help=True,
)
VenueFile = Annotated[
    Path | None, typer.Option("--file", metavar="FILE", help="Venue file whose own pixel types count too.")
]
Amps = Annotated[float | None, typer.Option(metavar="AMPS", help="That colour alone at full, idle included.")]


@group.command("list")
def list_pixel_types(file: VenueFile = None, as_json: AsJson = False) -> None:
    """List the kinds of pixel that there are: the catalogue's, and a venue file's own."""
    kinds = _known(file)
    if as_json:
        print_json([kind.model_dump(mode="json") for kind in kinds.values()])
        return
    columns = (
        "key",
        "volts",
        "colours",
        "LEDs",
        "protocol",
        "full mA",
        "idle mA",
        "150 take ms",
        "150 worst A",
        "title",
    )
    rows = [
        (
            kind.key,
            kind.volts,
            kind.colour_order,
            kind.leds_per_pixel,
            kind.timing.protocol,
            round(kind.full_pixel_ma, 1),
            kind.idle_ma,
            round(kind.wire_time_s(150) * 1e3, 2),
            round(kind.full_pixel_ma * 0.150, 2),
            kind.title,
        )
        for kind in kinds.values()
    ]
    print_table(columns, rows)


@group.command()
def show(
    key: Annotated[str, typer.Argument(metavar="KEY", help="Key of the pixel type; `list` has them.")],
    file: VenueFile = None,
    as_json: AsJson = False,
) -> None:
    """Show all values of one kind of pixel, and where each comes from."""
    kind = _chosen(key, file, "KEY")
    if as_json:
        print_json(kind)
        return
    say(f"{kind.title} ({kind.key})")
    rows = [
        (name, _value(kind, name), kind.sources.of(name) if kind.sources else None)
        for name in get_args(ValueName)
        if getattr(kind, name) is not None
    ]
    print_table(("value", "is", "source"), rows)


@group.command()
def measure(
    like: Annotated[
        str, typer.Option(metavar="KEY", help="The kind it is like, for what no meter shows: timing, order, volts.")
    ],
    pixels: Annotated[int, typer.Option(metavar="N", help="Pixels of the run that was measured.")],
    volts: Annotated[float, typer.Option(metavar="V", help="Volts at its first pixel while every emitter is full.")],
    idle_a: Annotated[float, typer.Option(metavar="AMPS", help="Amps with every pixel dark and data sent.")],
    full_a: Annotated[float, typer.Option(metavar="AMPS", help="Amps with every emitter of every pixel full.")],
    red_a: Amps = None,
    green_a: Amps = None,
    blue_a: Amps = None,
    white_a: Amps = None,
    on: Annotated[str | None, typer.Option(metavar="DATE", help="Day of the measurement; today unless given.")] = None,
    key: Annotated[str | None, typer.Option(metavar="KEY", help="Key of the new type.")] = None,
    title: Annotated[str | None, typer.Option(metavar="TEXT", help="Title of the new type.")] = None,
    file: VenueFile = None,
    as_json: AsJson = False,
) -> None:
    """Make a pixel type from a meter's readings: dark and full, and if you like each colour alone. Needs no hub.

    Prints how measured and published differ, whether that matters, and the block to paste into a venue file. Take 10 to
    50 pixels, fed at their start by short thick wires; on RGBW, full means all four emitters.

    Switch off before the circuit is opened for the meter. A clamp meter needs no opening. DC side only.

    Example: stringcourse pixel-type measure --like rgb-5v-nrz800 --pixels 50 --volts 4.95 --idle-a 0.042 --full-a 2.61
    """
    published = _chosen(like, file, "--like")
    try:
        reading = MeterReading(
            pixels=pixels,
            volts=volts,
            idle_a=idle_a,
            full_a=full_a,
            red_a=red_a,
            green_a=green_a,
            blue_a=blue_a,
            white_a=white_a,
            on=_day(on),
        )
        found = measured_pixel_type(reading, published, key, title)
    except ValidationError as error:
        mistakes = mistakes_of(error.errors(include_url=False))
        raise CommandError(ExitCode.BAD_INPUT, "the readings cannot be used", mistakes) from error
    except InvalidError as error:
        raise CommandError(ExitCode.BAD_INPUT, error.detail, error.mistakes) from error
    if as_json:
        print_json(found)
    else:
        _print_measured(found, published)


def _print_measured(found: MeasuredPixelType, published: PixelType) -> None:
    rows = [
        (one.current, one.published_ma, one.measured_ma, one.difference_percent, "yes" if one.matters else "no")
        for one in found.compared
    ]
    print_table(("of a pixel", f"{published.key} mA", "measured mA", "difference %", "matters"), rows)
    say()
    say(found.verdict)
    for caution in (*found.cautions, *CAUTIONS):
        say(f"Caution: {caution}")
    say()
    say("For a venue file, and `pixel_type:", f"{found.pixel_type.key}` in its runs:")
    say()
    for line in write_pixel_types([found.pixel_type]).splitlines():
        say(line)


def _known(file: Path | None) -> dict[str, PixelType]:
    if file is None:
        return dict(PIXEL_CATALOGUE)
    try:
        return pixel_types_of(read_venue_file(file))
    except InvalidError as error:
        raise CommandError(ExitCode.BAD_INPUT, error.detail, error.mistakes) from error


def _chosen(key: str, file: Path | None, option: str) -> PixelType:
    known = _known(file)
    if key not in known:
        raise CommandError(
            ExitCode.NOT_FOUND,
            f"{option}: there is no pixel type {key!r}; use one of {', '.join(known)}"
            + ("" if file else ", or add --file for a venue's own"),
        )
    return known[key]


def _day(text: str | None) -> date:
    if text is None:
        return datetime.now(UTC).astimezone().date()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise CommandError(ExitCode.BAD_INPUT, f"--on: {text!r} is not a date; write it as 2025-03-31") from error


def _value(kind: PixelType, name: ValueName) -> str:
    match name, kind.timing:
        case "volts", _:
            leds = "" if kind.leds_per_pixel == 1 else f", {kind.leds_per_pixel} LEDs a pixel"
            return f"{kind.volts:g} V{leds}"
        case "minimum_volts", _:
            return f"{kind.minimum_volts:g} V; below, the current is {kind.current_below_minimum}".replace(
                "is falls", "falls"
            )
        case "timing", NrzTiming() as nrz:
            return (
                f"0: {nrz.t0h_us:g} high, {nrz.t0l_us:g} low; 1: {nrz.t1h_us:g} high, {nrz.t1l_us:g} low; "
                f"±{nrz.tolerance_us:g}; reset {nrz.reset_us:g} µs"
            )
        case "timing", ClockedTiming() as clocked:
            return (
                f"clock {clocked.clock_mhz:g} MHz of at most {clocked.highest_clock_mhz:g}; {clocked.start_bits} zero "
                f"bits, 111 and level and colours of each pixel, {clocked.end_bits} zero bits and "
                f"{clocked.end_bits_per_pixel:g} a pixel"
            )
        case "refresh_hz", _:
            return f"{kind.refresh_hz:g} Hz"
        case "full_ma", _:
            emitters = kind.full_ma.model_dump()
            named = {"R": "red", "G": "green", "B": "blue", "W": "white"}
            parts = [f"{named[letter]} {emitters[named[letter]]:g}" for letter in "RGBW" if letter in kind.colour_order]
            return f"{', '.join(parts)} mA; {kind.full_pixel_ma:g} mA with idle"
        case "colour_order", _:
            return f"{kind.colour_order}, {kind.bits_per_colour} bits each"
        case _:
            return f"{getattr(kind, name):g} mA"
