"""`stringcourse-node try`: lights one run from the command line, with neither hub nor broker."""

import argparse
import re
import signal
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Final

from node_agent.limiter import SAFE_BUDGET_A
from node_agent.outputs import CaptureHeader, CaptureOutput, Output, OutputError, open_spi
from node_agent.trial import COLOURS, FRAME_RATE_LIMIT_HZ, Trial
from schemas import PIXEL_CATALOGUE
from schemas.bounds import MAX_PIXELS_PER_RUN

CAUTIONS: Final = """\
before the wires touch
  - Power off first; connect and check with the supply unplugged.
  - Polarity: plus to plus, minus to minus. Reversed, a pixel is destroyed at once.
  - Common ground: the board's ground and the supply's minus are joined, or the data means nothing.
  - Direction: data enters at DIN, the end that the arrows point away from. 5 V pixels may need a level shifter.
  - Fuse each feed at the supply, for the wire and not for the pixels.
  - Anything on the mains side is for a licensed electrician, under your local code.
  - Bright moving light can disturb people: do not look into it, and keep flashes under three a second."""

_DESCRIPTION: Final = """\
Lights one run of pixels and leaves it dark at the end, or at Ctrl-C. It needs no hub and no broker, and tells first
what the run will draw and how fast its wire is. A budget limits the draw in every frame, whatever the colours."""

_EPILOG: Final = f"""\
patterns, and the colours that each takes
  wash      one colour over the run                 spot     the first and the last pixel: proves count and direction
  gradient  2 to 16 colours from end to end         chase    one colour, lit stretches that travel from pixel 0 on
  wave      two colours, a crest and a trough       twinkle  one colour, pixels that glow up and die away

examples
  without any hardware, to a file that holds the very bytes of the wire:
    stringcourse-node try --pixels 30 --capture /tmp/first-run.capture
  30 pixels on the board's own 5 V pin, data on the first SPI port:
    stringcourse-node try --pixels 30 --pin spidev0.0 --pattern chase
  150 pixels on a 5 V supply of 4 A, of which 80 % are used:
    stringcourse-node try --pixels 150 --pin spidev0.0 --budget-a 3.2 --pattern wave --colour ffb060 --colour 402010

{CAUTIONS}"""


def add(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    parser = commands.add_parser(
        "try",
        help="light one run, with neither hub nor broker",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "--pixels", required=True, type=_whole(1, MAX_PIXELS_PER_RUN), help="how many pixels the run has"
    )
    parser.add_argument(
        "--pixel-type",
        choices=sorted(PIXEL_CATALOGUE),
        default="rgb-5v-nrz800",
        metavar="KEY",
        help=f"%(default)s unless given; one of {', '.join(sorted(PIXEL_CATALOGUE))}",
    )
    ways = parser.add_mutually_exclusive_group(required=True)
    ways.add_argument("--pin", metavar="PIN", help="the SPI port whose data pin drives the run, such as spidev0.0")
    ways.add_argument("--capture", metavar="FILE", type=Path, help="write the wire's bytes to a file instead")
    parser.add_argument("--pattern", choices=tuple(COLOURS), default="wash", help="%(default)s unless given")
    parser.add_argument(
        "--colour",
        action="append",
        default=[],
        type=_colour,
        metavar="RRGGBB",
        help="sRGB, hexadecimal; again for each further colour of the pattern",
    )
    parser.add_argument(
        "--seconds", type=_number(0.1, 86_400, "seconds"), default=10.0, help="how long; %(default)s unless given"
    )
    parser.add_argument(
        "--budget-a",
        type=_number(0.01, 500, "amps"),
        default=SAFE_BUDGET_A,
        metavar="AMPS",
        help="the most the run may draw; %(default)s unless given: what common practice hangs on a board's pin",
    )
    parser.add_argument(
        "--pixels-per-m", type=_number(1, 1_000, "pixels per metre"), default=60.0, help="%(default)s unless given"
    )
    parser.set_defaults(run=lambda options: run(options, parser))


def run(options: argparse.Namespace, parser: argparse.ArgumentParser) -> int:
    least, most, _ = COLOURS[options.pattern]
    if options.colour and not least <= len(options.colour) <= most:
        wanted = str(least) if least == most else f"{least} to {most}"
        parser.error(
            f"argument --colour: {options.pattern} takes {wanted}, {len(options.colour)} given; "
            "repeat or drop --colour, or name none for the pattern's own"
        )
    try:
        trial = Trial(
            pixels=options.pixels,
            pixel_type=PIXEL_CATALOGUE[options.pixel_type],
            pixels_per_m=options.pixels_per_m,
            pin=options.pin or "capture",
            pattern=options.pattern,
            colours=options.colour,
            budget_a=options.budget_a,
        )
        output = _open(options, trial)
    except OutputError as error:
        parser.error(str(error))
    print(describe(trial), CAUTIONS, sep="\n\n", end="\n\n", flush=True)
    stop = threading.Event()
    handlers = {
        number: signal.signal(number, lambda _number, _frame: stop.set()) for number in (signal.SIGINT, signal.SIGTERM)
    }
    try:
        report = trial.show(output, options.seconds, stop.is_set)
    except OutputError as error:
        print(f"{parser.prog}: {error}", file=sys.stderr)
        return 1
    finally:
        output.close()
        for number, handler in handlers.items():
            signal.signal(number, handler)
    print(
        f"{report.frames} frames shown, {report.late_frames} late; highest draw {report.highest_a:.2f} A, "
        f"limiter scale down to {report.lowest_scale:.2f}. The run is dark."
    )
    if options.capture:
        print(f"The bytes of the wire are in {options.capture}.")
    return 0


def describe(trial: Trial) -> str:
    """What the run will draw and how fast its wire is, for a person to read before anything lights."""
    kind, encoder = trial.pixel_type, trial.encoder
    limited_a = max(min(trial.worst_case_a, trial.budget_a), trial.idle_a)
    lines = [
        f"{trial.pixels} pixels, {kind.title} ({kind.key}), {trial.length_m:.2f} m",
        f"  worst case    {trial.worst_case_a:6.2f} A  every emitter full",
        f"  typical       {trial.typical_a:6.2f} A  the trade's rule of thumb; common practice, no source",
        f"  under budget  {limited_a:6.2f} A  at most, in every frame: the budget is {trial.budget_a:.2f} A",
        f"  wire time     {encoder.wire_time_s * 1e3:6.2f} ms a frame, reset included: up to "
        f"{1 / encoder.wire_time_s:.1f} frames/s",
        f"  shown at      {trial.frame_rate_hz:6.1f} frames/s, here at most {FRAME_RATE_LIMIT_HZ:.0f}",
        f"  SPI clock     {encoder.clock_hz / 1e6:6.2f} MHz, {encoder.manner}",
    ]
    if trial.idle_a > trial.budget_a:
        lines.append(
            f"  THE RUN STAYS BLACK: dark pixels alone draw {trial.idle_a:.2f} A, more than the budget. "
            "Use fewer pixels, or a supply that carries more and --budget-a to say so."
        )
    elif trial.worst_case_a > trial.budget_a:
        lines.append("  The worst case exceeds the budget: the run is safe only because every frame is held under it.")
    return "\n".join(lines)


def _open(options: argparse.Namespace, trial: Trial) -> Output:
    encoder = trial.encoder
    if options.capture:
        header = CaptureHeader(pixel_type=trial.pixel_type, pixels=trial.pixels, clock_hz=encoder.clock_hz)
        return CaptureOutput(options.capture, header)
    return open_spi(options.pin, encoder)


def _whole(least: int, most: int) -> Callable[[str], int]:
    def parse(text: str) -> int:
        if not text.isascii() or not text.isdecimal() or not least <= int(text[:12]) <= most:
            raise argparse.ArgumentTypeError(f"{text[:40]!r}; give a whole number from {least} to {most}")
        return int(text)

    return parse


def _number(least: float, most: float, unit: str) -> Callable[[str], float]:
    def parse(text: str) -> float:
        wrong = argparse.ArgumentTypeError(f"{text[:40]!r}; give {unit} from {least:g} to {most:g}")
        try:
            value = float(text)
        except ValueError:
            raise wrong from None
        if not least <= value <= most:
            raise wrong
        return value

    return parse


def _colour(text: str) -> str:
    if not re.fullmatch(r"#?[0-9a-fA-F]{6}", text):
        raise argparse.ArgumentTypeError(f"{text[:40]!r}; give six hexadecimal digits, such as ffb060")
    return "#" + text.removeprefix("#").lower()
