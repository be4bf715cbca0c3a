"""The desired state of one node: everything that it must hold to light its runs with neither hub nor broker."""

import hashlib
import json
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, model_validator

from schemas.bounds import (
    MAX_FEEDS_PER_RUN,
    MAX_SCENES,
    MAX_SPANS_PER_ZONE,
    MAX_TIMED_TAKES,
    MAX_TRIMS_PER_RUN,
    MAX_ZONES_PER_NODE,
    OUTPUTS_PER_NODE,
)
from schemas.contract import Amps, ChannelNumber, Contract, Id, Revision, Sha256, ShowTimeMs
from schemas.fade import FadeMs
from schemas.pixel_type import PixelType
from schemas.scene import Scene
from schemas.venue import (
    Cuts,
    ElevationMetres,
    Feed,
    Kelvin,
    Level,
    Path,
    Pin,
    PixelCount,
    RunIndex,
    WhiteBalance,
)


class Trim(Contract):
    """Linear gains of a stretch of a run: trims and white points of the zones that hold it, multiplied."""

    first: RunIndex
    pixels: PixelCount
    red: Level
    green: Level
    blue: Level


class DesiredChannel(Contract):
    """A channel's wiring with its pixel type written out, so that a board needs no catalogue."""

    number: ChannelNumber
    pin: Pin
    pixels: PixelCount
    pixel_type: PixelType
    white_balance: WhiteBalance = WhiteBalance()
    white_emitter_k: Kelvin | None = None
    trims: Annotated[tuple[Trim, ...], Field(max_length=MAX_TRIMS_PER_RUN)] = ()
    feeds: Annotated[tuple[Feed, ...], Field(max_length=MAX_FEEDS_PER_RUN)] = ()
    positive_cut_before: Cuts = ()


class Budget(Contract):
    """Amps of a supply: in a body the whole that it may give to all its nodes, in a grant what one node may draw."""

    supply: Id
    budget_a: Amps


class PlacedSpan(Contract):
    """A span of this node inside a zone, with where it starts: in metres along the zone and in pixels of the zone."""

    channel: ChannelNumber
    first: RunIndex
    pixels: PixelCount
    path: Path
    start_m: Annotated[float, Field(ge=0, le=1_000_000)]
    start_index: Annotated[int, Field(ge=0, le=10_000_000)]


class Extent(Contract):
    """Size of the whole zone, beyond this node's part: what gradients are measured against."""

    length_m: Annotated[float, Field(ge=0, le=1_000_000)]
    pixels: Annotated[int, Field(ge=1, le=10_000_000)]
    x_min_m: ElevationMetres
    x_max_m: ElevationMetres
    y_min_m: ElevationMetres
    y_max_m: ElevationMetres


class DesiredZone(Contract):
    """This node's part of a zone."""

    id: Id
    extent: Extent
    spans: Annotated[tuple[PlacedSpan, ...], Field(min_length=1, max_length=MAX_SPANS_PER_ZONE)]


class TimedTake(Contract):
    """A scene that the node takes by itself at a show time, with neither hub nor broker."""

    at_ms: ShowTimeMs
    scene: Annotated[Id | None, Field(description="Null is darkness.")] = None
    fade_ms: FadeMs = 0


class DesiredBody(Contract):
    """What the hash covers: wiring, budgets, zones, scenes and the timed takes of the days to come.

    Layers over zones foreign to the node are absent; there is room for a scene and a zone that the hub adds itself.
    What shows at an instant: the last timed take up to then, if it is later than `showing_since_ms`; otherwise
    `showing`.
    """

    frame_rate_limit_hz: Annotated[float, Field(ge=1, le=1_000)] | None = None
    telemetry_interval_s: Annotated[float, Field(ge=0.2, le=3_600)]
    master_level: Annotated[Level, Field(description="Linear gain of everything that shows.")] = 1.0
    channels: Annotated[tuple[DesiredChannel, ...], Field(max_length=OUTPUTS_PER_NODE)] = ()
    budgets: Annotated[tuple[Budget, ...], Field(max_length=OUTPUTS_PER_NODE * MAX_FEEDS_PER_RUN)] = ()
    zones: Annotated[tuple[DesiredZone, ...], Field(max_length=MAX_ZONES_PER_NODE + 1)] = ()
    scenes: Annotated[tuple[Scene, ...], Field(max_length=MAX_SCENES + 1)] = ()
    showing: Annotated[Id | None, Field(description="The scene that was chosen; none is darkness.")] = None
    showing_since_ms: Annotated[
        ShowTimeMs, Field(description="When it was chosen: timed takes up to then no longer count.")
    ] = 0
    timetable: Annotated[tuple[TimedTake, ...], Field(max_length=MAX_TIMED_TAKES, description="In order of time.")] = ()

    @model_validator(mode="after")
    def _times_run_forward(self) -> "DesiredBody":
        times = [take.at_ms for take in self.timetable]
        if any(later <= earlier for earlier, later in pairwise(times)):
            raise ValueError("`timetable` must be in order of time, each take later than the one before")
        return self


class TakeTime(Contract):
    """When a revision starts to show and how long it crossfades from what showed before."""

    at_ms: ShowTimeMs
    fade_ms: FadeMs = 0


class Desired(Contract):
    """The retained document on `node/<id>/desired`. `take` is absent while the revision is only to be staged."""

    schema_version: Literal[1] = 1
    venue: Id
    node: Id
    revision: Revision
    sha256: Sha256
    body: DesiredBody
    take: TakeTime | None = None


def body_sha256(body: DesiredBody) -> str:
    """SHA-256 of the body as canonical JSON: keys sorted, no spaces, UTF-8; the same on hub and board."""
    canonical = json.dumps(body.model_dump(mode="json"), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(canonical.encode()).hexdigest()
