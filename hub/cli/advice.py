"""`stringcourse advice`: wire, fuse, supply and frame rate need no hub; feeds and brightness are asked of a venue."""

from typing import Annotated, Any, TypeVar

import typer
from pydantic import ValidationError

from hub.cli.chosen_venue import VenueOption, chosen_venue
from hub.cli.client import DEFAULT_HUB, AsJson, HubAddress, HubClient, path_of
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.printing import print_json, print_table, say
from hub.electrical.advice import (
    Advice,
    BrightnessQuestion,
    FeedsQuestion,
    FrameRateQuestion,
    FuseQuestion,
    SupplyQuestion,
    WireQuestion,
    frame_rate,
    fuse_between,
    smallest_wire,
    supply_size,
)
from hub.electrical.advice.answer import Question
from hub.electrical.fuses import FuseKind
from hub.errors import InvalidError, Mistake
from hub.validation import mistakes_of

group = typer.Typer(
    help="Advice that computes: wire, fuse, supply, frame rate; feeds and brightness of a venue.",
    epilog="Exits 1 where nothing serves, with the reason.",
    no_args_is_help=True,
)

MAX_SHOWN = 24
AQuestion = TypeVar("AQuestion", bound=Question)


def _asked(kind: type[Question], field: str, metavar: str) -> Any:  # noqa: ANN401 (as Typer's own)
    return typer.Option(help=kind.model_fields[field].description, metavar=metavar, show_default=True)


Length = Annotated[float, _asked(WireQuestion, "length_m", "METRES")]
Current = Annotated[float, _asked(WireQuestion, "current_a", "AMPS")]
Load = Annotated[float, _asked(FuseQuestion, "load_a", "AMPS")]
SupplyVolts = Annotated[float, _asked(WireQuestion, "volts", "VOLTS")]
Drop = Annotated[float, _asked(WireQuestion, "drop_percent", "PERCENT")]
Ambient = Annotated[float, _asked(WireQuestion, "ambient_c", "CELSIUS")]
Together = Annotated[int, _asked(WireQuestion, "loaded_conductors", "NUMBER")]
WireMm2 = Annotated[float | None, _asked(FuseQuestion, "wire_mm2", "MM2")]
WireAwg = Annotated[int | None, _asked(FuseQuestion, "wire_awg", "GAUGE")]
MinimumVolts = Annotated[float | None, _asked(BrightnessQuestion, "minimum_volts", "VOLTS")]


@group.command()
def wire(
    length_m: Length,
    current_a: Current,
    volts: SupplyVolts,
    drop_percent: Drop = 3.0,
    ambient_c: Ambient = 30.0,
    loaded_conductors: Together = 2,
    as_json: AsJson = False,
) -> None:
    """The smallest wire for a length and a current, by voltage drop and by what it may carry.

    Example: stringcourse advice wire --length-m 6 --current-a 4.5 --volts 12
    """
    question = _question(
        WireQuestion,
        length_m=length_m,
        current_a=current_a,
        volts=volts,
        drop_percent=drop_percent,
        ambient_c=ambient_c,
        loaded_conductors=loaded_conductors,
    )
    _tell(smallest_wire(question), as_json)


@group.command()
def fuse(
    load_a: Load,
    volts: SupplyVolts,
    wire_mm2: WireMm2 = None,
    wire_awg: WireAwg = None,
    kind: Annotated[FuseKind, _asked(FuseQuestion, "kind", "KIND")] = FuseKind.BLADE,
    ambient_c: Ambient = 30.0,
    loaded_conductors: Together = 2,
    as_json: AsJson = False,
) -> None:
    """The standard fuse between a load and its wire, or why none fits. Give --wire-mm2 or --wire-awg.

    Example: stringcourse advice fuse --load-a 4.5 --wire-mm2 1.5 --volts 5
    """
    question = _question(
        FuseQuestion,
        load_a=load_a,
        volts=volts,
        wire_mm2=wire_mm2,
        wire_awg=wire_awg,
        kind=kind,
        ambient_c=ambient_c,
        loaded_conductors=loaded_conductors,
    )
    try:
        answer = fuse_between(question)
    except InvalidError as error:
        raise _refused(error.mistakes) from error
    _tell(answer, as_json)


@group.command()
def supply(
    load_a: Annotated[float, _asked(SupplyQuestion, "load_a", "AMPS")],
    volts: SupplyVolts,
    derating: Annotated[float, _asked(SupplyQuestion, "derating", "PART")] = 0.8,
    ambient_c: Annotated[float, _asked(SupplyQuestion, "ambient_c", "CELSIUS")] = 30.0,
    derates_above_c: Annotated[float, _asked(SupplyQuestion, "derates_above_c", "CELSIUS")] = 50.0,
    derates_per_k: Annotated[float, _asked(SupplyQuestion, "derates_per_k", "PART")] = 0.025,
    as_json: AsJson = False,
) -> None:
    """How large a supply must be for a load, with its derating and the heat around it; how it stands to Class 2.

    Example: stringcourse advice supply --load-a 9 --volts 5 --ambient-c 55
    """
    question = _question(
        SupplyQuestion,
        load_a=load_a,
        volts=volts,
        derating=derating,
        ambient_c=ambient_c,
        derates_above_c=derates_above_c,
        derates_per_k=derates_per_k,
    )
    _tell(supply_size(question), as_json)


@group.command("frame-rate")
def rate(
    pixels: Annotated[int, _asked(FrameRateQuestion, "pixels", "NUMBER")],
    pixel_type: Annotated[str, _asked(FrameRateQuestion, "pixel_type", "KEY")] = "rgb-5v-nrz800",
    wanted_hz: Annotated[float | None, _asked(FrameRateQuestion, "wanted_hz", "HZ")] = None,
    as_json: AsJson = False,
) -> None:
    """The frame rate that a run holds; for a higher one, over how many outputs to split it, and where.

    Example: stringcourse advice frame-rate --pixels 1024 --wanted-hz 60
    """
    question = _question(FrameRateQuestion, pixels=pixels, pixel_type=pixel_type, wanted_hz=wanted_hz)
    try:
        answer = frame_rate(question)
    except InvalidError as error:
        raise _refused(error.mistakes) from error
    _tell(answer, as_json)


@group.command()
def feeds(
    node: Annotated[str, typer.Argument(metavar="NODE", help="Id of the node.", show_default=False)],
    channel: Annotated[int, _asked(FeedsQuestion, "channel", "NUMBER")],
    level: Annotated[float, _asked(FeedsQuestion, "level", "PART")] = 1.0,
    minimum_volts: MinimumVolts = None,
    supply_id: Annotated[
        str | None,
        typer.Option("--supply", help=FeedsQuestion.model_fields["supply"].description, metavar="SUPPLY"),
    ] = None,
    wire_mm2: WireMm2 = None,
    wire_awg: WireAwg = None,
    length_m: Annotated[float | None, _asked(FeedsQuestion, "length_m", "METRES")] = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """The fewest feeds of a run and their places, so that no pixel falls below the wanted volts; why fewer cannot do.

    What is left open of supply and wire is taken from the feeds that the run has.

    Example: stringcourse advice feeds bay-03 --channel 1 --level 0.6 --minimum-volts 4.5
    """
    asked = {
        "node": node,
        "channel": channel,
        "level": level,
        "minimum_volts": minimum_volts,
        "supply": supply_id,
        "wire_mm2": wire_mm2,
        "wire_awg": wire_awg,
        "length_m": length_m,
    }
    with HubClient(hub) as client:
        answer = client.get(path_of("venues", chosen_venue(client, venue), "advice", "feeds"), **asked)
    _tell(Advice.model_validate(answer), as_json)


@group.command()
def brightness(
    minimum_volts: MinimumVolts = None,
    venue: VenueOption = None,
    hub: HubAddress = DEFAULT_HUB,
    as_json: AsJson = False,
) -> None:
    """How bright the venue may be as it stands: budgets, fuses, wires, and the volts of every pixel.

    Example: stringcourse advice brightness --minimum-volts 4.2
    """
    with HubClient(hub) as client:
        path = path_of("venues", chosen_venue(client, venue), "advice", "brightness")
        answer = client.get(path, minimum_volts=minimum_volts)
    if as_json:
        print_json(answer)
        raise typer.Exit(ExitCode.OK if answer["found"] else ExitCode.NO)
    print_table(
        ("supply", "level", "decided by"),
        [(one["supply"], f"{one['level']:.2%}", one["decided_by"]) for one in answer["supplies"]],
    )
    say()
    _tell(Advice.model_validate(answer), as_json)


def _question(asked: type[AQuestion], /, **fields: object) -> AQuestion:
    try:
        return asked.model_validate(fields)
    except ValidationError as error:
        raise _refused(mistakes_of(error.errors())) from error


def _refused(mistakes: list[Mistake] | tuple[Mistake, ...]) -> CommandError:
    """The mistakes by the names that options have on the command line."""
    named = [
        Mistake(f"--{one.field.removeprefix('query.').replace('_', '-')}", one.reason, one.remedy) for one in mistakes
    ]
    return CommandError(ExitCode.BAD_INPUT, "the question has mistakes", named)


def _tell(advice: Advice, as_json: bool) -> None:
    if as_json:
        print_json(advice)
    else:
        say(advice.answer)
        say()
        print_table(("figure", "value"), [(name, _shown(value)) for name, value in advice.values.items()])
        say()
        say(f"Formula: {advice.formula}.")
        say(f"Inputs: {', '.join(f'{name} {_shown(value)}' for name, value in advice.inputs.items())}.")
        say(f"Source: {advice.source}")
        say(f"Checked: {advice.confirmation}")
        say()
        say("Caution:")
        for caution in advice.cautions:
            say(f"  {caution}")
    if not advice.found:
        raise typer.Exit(ExitCode.NO)


def _shown(value: object) -> object:
    if not isinstance(value, list):
        return value
    shown = ", ".join(f"{one:g}" for one in value[:MAX_SHOWN])
    return shown if len(value) <= MAX_SHOWN else f"{shown}, … ({len(value)} in all; --json prints them)"
