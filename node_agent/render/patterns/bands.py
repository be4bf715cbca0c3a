"""Bands: stripes of colours side by side, travelling along the zone."""

from fractions import Fraction
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import (
    AlongAxis,
    Metres,
    MetresPerSecond,
    PatternStatement,
    SoftMetres,
    exact,
)
from node_agent.render.placement import Placement
from node_agent.render.ramp import Ramp
from schemas import Extent
from schemas.bounds import MAX_RAMP_STOPS
from schemas.colour import Colour, Mix, Stop


class Bands(PatternStatement):
    """Stripes side by side, each `width_m` wide, in colours that follow one another in turn."""

    pattern: Literal["bands"]
    colours: Annotated[
        tuple[Colour, ...],
        Field(
            min_length=2,
            max_length=MAX_RAMP_STOPS,
            description="Colours of the stripes, one after another.",
            examples=[["#ffb060", "#102a60"]],
        ),
    ]
    mix: Mix = "oklab"
    along: AlongAxis = "s"
    width_m: Annotated[Metres, Field(description="Width of one stripe.")] = 1.0
    soft_m: Annotated[SoftMetres, Field(description="Over what length two stripes run into one another.")] = 0.0
    speed_m_per_s: Annotated[MetresPerSecond, Field(description="How fast they travel; negative runs backwards.")] = 0.0

    @model_validator(mode="after")
    def _edges_fit(self) -> "Bands":
        if self.soft_m > self.width_m:
            remedy = "shorten soft_m, or widen width_m"
            raise PydanticCustomError("fit", "soft_m must not exceed width_m", {"remedy": remedy})
        return self

    def light(self, placement: Placement) -> "BandsLight | Light":
        bands = BandsLight(self, placement)
        return bands if self.speed_m_per_s else bands.evaluate(0.0)

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        speed = abs(exact(self.speed_m_per_s))
        return len(self.colours) * exact(self.width_m) / speed if speed else None


class BandsLight:
    """One round of all colours is a ramp that ends as it begins, in the middle of the first stripe.

    Places are in rounds, so that one floor brings them back into 0..1. At show time 0 the first stripe lies on the
    first `width_m` of the zone.
    """

    def __init__(self, pattern: Bands, placement: Placement) -> None:
        count = len(pattern.colours)
        round_m = count * pattern.width_m
        soft = pattern.soft_m / 2 / round_m
        stops = [Stop(at=0.0, colour=pattern.colours[0])]
        for number in range(count):
            edge = (number + 0.5) / count
            stops.append(Stop(at=max(edge - soft, stops[-1].at), colour=pattern.colours[number]))
            stops.append(Stop(at=min(edge + soft, 1.0), colour=pattern.colours[(number + 1) % count]))
        self._ramp = Ramp(stops, pattern.mix)
        rounds = placement.along_m(pattern.along) / round_m - 1 / (2 * count)
        self._place = (rounds % 1.0).astype(np.float32)
        self._rounds_per_s = pattern.speed_m_per_s / round_m
        self._moved = np.empty_like(self._place)
        self._whole = np.empty_like(self._place)
        self._index = np.empty(self._place.size, dtype=np.intp)
        self._light = Light(np.empty((3, self._place.size), dtype=np.float32))

    def evaluate(self, show_time_s: float) -> Light:
        moved, whole = self._moved, self._whole
        np.subtract(self._place, np.float32(show_time_s * self._rounds_per_s % 1.0), out=moved)
        np.floor(moved, out=whole)
        moved -= whole
        self._ramp.look_up(moved, self._index, self._light.colour)
        return self._light
