"""Sweep: an edge of colour crosses the whole zone, stays, and leaves again."""

from fractions import Fraction
from typing import Annotated, Final, Literal

import numpy as np
from pydantic import Field

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import AlongAxis, PatternStatement, Seconds, SoftMetres, exact
from node_agent.render.placement import Placement
from schemas import Extent
from schemas.colour import Colour

_SHARPEST_M: Final = 0.001  # so that an edge has some width even where the zone has none


class Sweep(PatternStatement):
    """An edge of colour crosses the whole zone, however long that is, stays, and leaves what lies below clear again.

    A negative time scale of the layer sweeps from the other end.
    """

    pattern: Literal["sweep"]
    colour: Annotated[Colour, Field(description="The colour that it brings.")]
    along: AlongAxis = "s"
    leaves: Annotated[
        Literal["onward", "back"],
        Field(description="Whether it leaves onward, the same way, or back the way it came."),
    ] = "onward"
    cross_s: Annotated[
        float,
        Field(
            ge=0.05,
            le=3_600,
            description="How long an edge takes from end to end of the zone.",
            json_schema_extra={"unit": "s"},
        ),
    ] = 4.0
    hold_s: Annotated[Seconds, Field(description="How long the whole zone stays covered.")] = 1.0
    rest_s: Annotated[Seconds, Field(description="How long the whole zone stays clear.")] = 1.0
    soft_m: Annotated[SoftMetres, Field(description="Over what length an edge is soft.")] = 0.5

    def light(self, placement: Placement) -> "SweepLight":
        return SweepLight(self, placement)

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        return self.period_s

    @property
    def period_s(self) -> Fraction:
        return 2 * exact(self.cross_s) + exact(self.hold_s) + exact(self.rest_s)


class SweepLight:
    """Places are shares of the way of an edge, which begins before the zone and ends past it by its own softness.

    How far the edge has passed a pixel, in softnesses, is eased by smoothstep. At show time 0 the zone is clear.
    """

    def __init__(self, pattern: Sweep, placement: Placement) -> None:
        soft_m = max(pattern.soft_m, _SHARPEST_M)
        way_m = placement.length_m(pattern.along) + soft_m
        self._place = (placement.along_m(pattern.along) / soft_m).astype(np.float32)
        self._way = way_m / soft_m
        self._cross_s, self._hold_s = pattern.cross_s, pattern.hold_s
        self._onward = pattern.leaves == "onward"
        self._period_s = float(pattern.period_s)
        self._cover = np.empty_like(self._place)
        self._part = np.empty_like(self._place)
        self._light = Light(linear_rgb(pattern.colour)[:, None], self._cover)

    def evaluate(self, show_time_s: float) -> Light:
        through_s = show_time_s % self._period_s
        came = through_s / self._cross_s
        went = (through_s - self._cross_s - self._hold_s) / self._cross_s
        if went <= 0:
            self._pass_by(came)
        elif self._onward:
            self._pass_by(went)
            np.subtract(np.float32(1), self._cover, out=self._cover)
        else:
            self._pass_by(1 - went)
        return self._light

    def _pass_by(self, share: float) -> None:
        """Cover with the edge at this share of its way."""
        cover, part = self._cover, self._part
        if not 0 < share < 1:
            cover.fill(0 if share <= 0 else 1)
            return
        np.subtract(np.float32(share * self._way), self._place, out=cover)
        np.maximum(cover, np.float32(0), out=cover)
        np.minimum(cover, np.float32(1), out=cover)
        np.multiply(cover, np.float32(-2), out=part)
        part += np.float32(3)
        cover *= cover
        cover *= part
