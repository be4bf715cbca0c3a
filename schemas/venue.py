"""A venue as its owner writes it down: supplies, nodes with their channels and runs, zones on the elevation, scenes."""

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from schemas.bounds import (
    MAX_CUE_LISTS,
    MAX_FEEDS_PER_RUN,
    MAX_NODES,
    MAX_PATH_POINTS,
    MAX_PIXEL_TYPES,
    MAX_PIXELS_PER_RUN,
    MAX_SCENES,
    MAX_SPANS_PER_ZONE,
    MAX_SUPPLIES,
    MAX_TAGS,
    MAX_TIMETABLE_ENTRIES,
    MAX_ZONES,
    OUTPUTS_PER_NODE,
)
from schemas.contract import ChannelNumber, Contract, Id, Text, Title
from schemas.pixel_type import PixelType
from schemas.scene import Scene
from schemas.timetable import CueList, Place, TimetableEntry, TimeZoneName
from schemas.wire_gauge import FINEST_GAUGE, awg_area_mm2

ElevationMetres = Annotated[float, Field(ge=-10_000, le=10_000, description="metres on the elevation")]
Point = Annotated[tuple[ElevationMetres, ElevationMetres], Field(description="x to the right and y up, metres")]
Path = Annotated[tuple[Point, ...], Field(min_length=2, max_length=MAX_PATH_POINTS)]
Gain = Annotated[float, Field(gt=0, le=1)]
Level = Annotated[float, Field(ge=0, le=1)]
Kelvin = Annotated[float, Field(ge=1_000, le=20_000)]
RunIndex = Annotated[int, Field(ge=0, lt=MAX_PIXELS_PER_RUN)]
PixelCount = Annotated[int, Field(ge=1, le=MAX_PIXELS_PER_RUN)]
Cuts = Annotated[tuple[Annotated[int, Field(ge=1, lt=MAX_PIXELS_PER_RUN)], ...], Field(max_length=MAX_FEEDS_PER_RUN)]
Sharing = Literal["fixed", "by-need"]
Pin = Annotated[
    str,
    StringConstraints(pattern=r"^[a-z0-9][a-z0-9.-]{0,30}$"),
    Field(description="The board's data output as its system names it, such as spidev0.0."),
]


class Supply(Contract):
    """A DC power supply. Its budget is `rated_a` x `derating`; 0.8 is common practice for continuous load."""

    id: Id
    title: Title | None = None
    volts: Annotated[float, Field(gt=0, le=60, description="volts, DC")]
    rated_a: Annotated[float, Field(gt=0, le=500, description="amps on the nameplate")]
    derating: Annotated[float, Field(gt=0, le=1)] = 0.8
    output_ohm: Annotated[
        float, Field(ge=0, le=10, description="Ohms by which its volts sag under load; 0 for a regulated supply.")
    ] = 0.0
    efficiency: Annotated[float, Field(gt=0, le=1, description="Power out over power in from the mains.")] = 0.85
    sharing: Annotated[
        Sharing,
        Field(description="How nodes share its budget: in fixed shares, or by need, re-shared while they run."),
    ] = "fixed"

    @property
    def budget_a(self) -> float:
        return self.rated_a * self.derating


class Feed(Contract):
    """Where a supply's wires join a run."""

    supply: Id
    at_pixel: RunIndex = 0
    wire_mm2: Annotated[float | None, Field(gt=0, le=100, description="conductor area, mm²")] = None
    wire_awg: Annotated[
        int | None, Field(ge=0, le=FINEST_GAUGE, description="conductor size, American Wire Gauge (ASTM B258)")
    ] = None
    length_m: Annotated[float, Field(gt=0, le=500, description="one-way length, metres")]
    conductor_c: Annotated[float, Field(ge=-40, le=120, description="temperature of the copper, °C")] = 30.0
    fuse_a: Annotated[float | None, Field(gt=0, le=500, description="fuse in the positive wire, amps")] = None

    @model_validator(mode="after")
    def _has_one_wire_size(self) -> "Feed":
        if (self.wire_mm2 is None) == (self.wire_awg is None):
            raise ValueError("a feed states its wire by `wire_mm2` or by `wire_awg`, and not by both")
        return self

    @property
    def area_mm2(self) -> float:
        """Area of one conductor, mm²."""
        return awg_area_mm2(self.wire_awg) if self.wire_awg is not None else self.wire_mm2 or 0.0


class WhiteBalance(Contract):
    """Linear gain of each emitter, at most 1, so that white looks white on this run."""

    red: Gain = 1.0
    green: Gain = 1.0
    blue: Gain = 1.0
    white: Gain = 1.0


class Run(Contract):
    """Pixels in series on one channel; indices start at 0 where the data line enters."""

    pixel_type: Id
    pixels: PixelCount
    pixels_per_m: Annotated[float, Field(gt=0, le=1_000)]
    loop_ohm_per_m: Annotated[
        float | None, Field(gt=0, le=100, description="Ohms per metre of its own copper, both rails together.")
    ] = None
    positive_cut_before: Annotated[
        Cuts,
        Field(description="Pixels just before which the positive rail is cut, so that no two supplies are joined."),
    ] = ()
    white_balance: WhiteBalance = WhiteBalance()
    white_emitter_k: Annotated[
        Kelvin | None,
        Field(
            description="Colour temperature of its white emitter, kelvin; without it as white as red, green and blue "
            "together. Only where the pixel type has W."
        ),
    ] = None
    feeds: Annotated[tuple[Feed, ...], Field(max_length=MAX_FEEDS_PER_RUN)] = ()


class Channel(Contract):
    """One data output of a node and the run on it."""

    number: ChannelNumber
    pin: Pin
    run: Run


class Node(Contract):
    """A board and its agent. Without `frame_rate_limit_hz` its longest wire sets the rate, up to 400 Hz."""

    id: Id
    title: Title | None = None
    outputs: Annotated[int, Field(ge=1, le=OUTPUTS_PER_NODE, description="data outputs the board has")]
    tags: Annotated[
        tuple[Id, ...], Field(max_length=MAX_TAGS, description="Words to select nodes by, such as upstairs.")
    ] = ()
    network_switch: Annotated[
        Id | None, Field(description="The network switch or radio access point that the board hangs on, by any name.")
    ] = None
    powered_by: Annotated[
        Id | None,
        Field(description="The supply that feeds the board itself; without it, the one that feeds all of its runs."),
    ] = None
    frame_rate_limit_hz: Annotated[float, Field(ge=1, le=1_000)] | None = None
    channels: Annotated[tuple[Channel, ...], Field(max_length=OUTPUTS_PER_NODE * 2)] = ()


class Span(Contract):
    """Pixels `first` .. `first + pixels - 1` of one channel, spread evenly along a path: centre i at (i + ½)/n."""

    node: Id
    channel: ChannelNumber
    first: RunIndex = 0
    pixels: PixelCount
    path: Path


class Zone(Contract):
    """An ordered set of spans, or, by `of`, the zones it joins in order. A pixel lies in one zone of spans only.

    Trim and white point of all zones that hold a pixel are multiplied.
    """

    id: Id
    title: Title | None = None
    trim: Annotated[Level, Field(description="Linear gain of its light in every scene, such as 0.7 near a window.")] = (
        1.0
    )
    white_point_k: Annotated[
        Kelvin | None,
        Field(description="What scenes call white looks like this colour temperature here, kelvin; else as they say."),
    ] = None
    spans: Annotated[tuple[Span, ...], Field(max_length=MAX_SPANS_PER_ZONE)] = ()
    of: Annotated[tuple[Id, ...], Field(max_length=MAX_SPANS_PER_ZONE)] = ()

    @model_validator(mode="after")
    def _has_spans_or_zones(self) -> "Zone":
        if bool(self.spans) == bool(self.of):
            raise ValueError("a zone has either `spans` or `of`, and not both")
        return self


class Tariff(Contract):
    """What a kilowatt-hour from the mains costs."""

    currency: Annotated[str, StringConstraints(pattern=r"^[A-Z]{3}$"), Field(description="ISO 4217, such as EUR")]
    per_kwh: Annotated[float, Field(ge=0, le=1_000)]


class Venue(Contract):
    """A whole venue. References between its parts are by id; `hub.venue_file` checks them."""

    id: Id
    title: Title
    note: Text = ""
    opening_scene: Annotated[Id | None, Field(description="Taken when the venue is loaded and shows nothing yet.")] = (
        None
    )
    master_level: Annotated[Level, Field(description="Linear gain of everything that shows; 1 leaves it.")] = 1.0
    tariff: Tariff | None = None
    place: Place | None = None
    time_zone: TimeZoneName = "UTC"
    approves_rollouts: Annotated[
        bool, Field(description="A rollout that a person plans waits until a second person approves it.")
    ] = False
    pixel_types: Annotated[tuple[PixelType, ...], Field(max_length=MAX_PIXEL_TYPES)] = ()
    supplies: Annotated[tuple[Supply, ...], Field(max_length=MAX_SUPPLIES)] = ()
    nodes: Annotated[tuple[Node, ...], Field(max_length=MAX_NODES)] = ()
    zones: Annotated[tuple[Zone, ...], Field(max_length=MAX_ZONES)] = ()
    scenes: Annotated[tuple[Scene, ...], Field(max_length=MAX_SCENES)] = ()
    timetable: Annotated[tuple[TimetableEntry, ...], Field(max_length=MAX_TIMETABLE_ENTRIES)] = ()
    cue_lists: Annotated[tuple[CueList, ...], Field(max_length=MAX_CUE_LISTS)] = ()
