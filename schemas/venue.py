"""A venue as its owner writes it down: supplies, nodes with their channels and runs, zones on the elevation, scenes."""

from typing import Annotated

from pydantic import Field, StringConstraints, model_validator

from schemas.bounds import (
    MAX_FEEDS_PER_RUN,
    MAX_NODES,
    MAX_PATH_POINTS,
    MAX_PIXEL_TYPES,
    MAX_PIXELS_PER_RUN,
    MAX_SCENES,
    MAX_SPANS_PER_ZONE,
    MAX_SUPPLIES,
    MAX_ZONES,
    OUTPUTS_PER_NODE,
)
from schemas.contract import ChannelNumber, Contract, Id, Text, Title
from schemas.pixel_type import PixelType
from schemas.scene import Scene

ElevationMetres = Annotated[float, Field(ge=-10_000, le=10_000, description="metres on the elevation")]
Point = Annotated[tuple[ElevationMetres, ElevationMetres], Field(description="x to the right and y up, metres")]
Path = Annotated[tuple[Point, ...], Field(min_length=2, max_length=MAX_PATH_POINTS)]
Gain = Annotated[float, Field(gt=0, le=1)]
RunIndex = Annotated[int, Field(ge=0, lt=MAX_PIXELS_PER_RUN)]
PixelCount = Annotated[int, Field(ge=1, le=MAX_PIXELS_PER_RUN)]
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

    @property
    def budget_a(self) -> float:
        return self.rated_a * self.derating


class Feed(Contract):
    """Where a supply's wires join a run."""

    supply: Id
    at_pixel: RunIndex = 0
    wire_mm2: Annotated[float, Field(gt=0, le=100, description="conductor area, mm²")]
    length_m: Annotated[float, Field(gt=0, le=500, description="one-way length, metres")]


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
    white_balance: WhiteBalance = WhiteBalance()
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
    """An ordered set of spans, or, by `of`, the zones it joins in order. A pixel lies in one zone of spans only."""

    id: Id
    title: Title | None = None
    spans: Annotated[tuple[Span, ...], Field(max_length=MAX_SPANS_PER_ZONE)] = ()
    of: Annotated[tuple[Id, ...], Field(max_length=MAX_SPANS_PER_ZONE)] = ()

    @model_validator(mode="after")
    def _has_spans_or_zones(self) -> "Zone":
        if bool(self.spans) == bool(self.of):
            raise ValueError("a zone has either `spans` or `of`, and not both")
        return self


class Venue(Contract):
    """A whole venue. References between its parts are by id; `hub.venue_file` checks them."""

    id: Id
    title: Title
    note: Text = ""
    opening_scene: Annotated[Id | None, Field(description="Taken when the venue is loaded and shows nothing yet.")] = (
        None
    )
    pixel_types: Annotated[tuple[PixelType, ...], Field(max_length=MAX_PIXEL_TYPES)] = ()
    supplies: Annotated[tuple[Supply, ...], Field(max_length=MAX_SUPPLIES)] = ()
    nodes: Annotated[tuple[Node, ...], Field(max_length=MAX_NODES)] = ()
    zones: Annotated[tuple[Zone, ...], Field(max_length=MAX_ZONES)] = ()
    scenes: Annotated[tuple[Scene, ...], Field(max_length=MAX_SCENES)] = ()
