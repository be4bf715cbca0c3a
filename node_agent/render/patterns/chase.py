"""Chase: lit stretches that travel along the zone, evenly spaced, soft at their trailing end."""

from fractions import Fraction
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import (
    AlongAxis,
    Metres,
    MetresPerSecond,
    PatternStatement,
    SoftMetres,
    travel_period_s,
)
from node_agent.render.placement import Placement
from schemas import Extent
from schemas.colour import Colour


class Chase(PatternStatement):
    """Lit stretches that travel: one of `length_m` in every `spacing_m`, soft at its trailing end over `tail_m`."""

    pattern: Literal["chase"]
    colour: Annotated[Colour, Field(description="The colour of the lit stretches.", examples=["#ffd8a0"])]
    along: AlongAxis = "s"
    length_m: Annotated[Metres, Field(description="Length of a stretch at full light.", examples=[0.4])]
    spacing_m: Annotated[
        Metres, Field(description="From the beginning of one stretch to that of the next.", examples=[2.0])
    ]
    tail_m: Annotated[SoftMetres, Field(description="Over what length it dies away behind the stretch.")] = 0.0
    speed_m_per_s: Annotated[
        MetresPerSecond, Field(description="How fast they travel; negative runs backwards.", examples=[0.5])
    ]

    @model_validator(mode="after")
    def _lit_stretch_fits(self) -> "Chase":
        if self.length_m + self.tail_m > self.spacing_m:
            remedy = "shorten length_m or tail_m, or widen spacing_m"
            raise PydanticCustomError("fit", "length_m + tail_m must not exceed spacing_m", {"remedy": remedy})
        return self

    def light(self, placement: Placement) -> "ChaseLight":
        return ChaseLight(self, placement)

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        return travel_period_s(self.spacing_m, self.speed_m_per_s)


class ChaseLight:
    """A pixel is some distance behind the nearest leading end ahead of it: lit over the length, fading over the tail.

    Distances are in spacings, so that one floor brings them back into 0..1. At show time 0 a stretch lies on the
    first `length_m` of the zone.
    """

    def __init__(self, pattern: Chase, placement: Placement) -> None:
        spacing_m = pattern.spacing_m
        along = placement.along_m(pattern.along) / spacing_m
        length = pattern.length_m / spacing_m
        forward = pattern.speed_m_per_s >= 0
        behind = length - along if forward else along
        self._behind = (behind % 1.0).astype(np.float32)
        self._spacings_per_s = abs(pattern.speed_m_per_s) / spacing_m
        self._length = np.float32(length)
        self._tail = np.float32(pattern.tail_m / spacing_m)
        self._distance = np.empty_like(self._behind)
        self._part = np.empty_like(self._behind)
        self._cover = np.empty_like(self._behind)
        self._light = Light(linear_rgb(pattern.colour)[:, None], self._cover)

    def evaluate(self, show_time_s: float) -> Light:
        distance, part, cover = self._distance, self._part, self._cover
        np.add(self._behind, np.float32(show_time_s * self._spacings_per_s % 1.0), out=distance)
        np.floor(distance, out=part)
        distance -= part
        if self._tail > 0:
            np.subtract(self._length + self._tail, distance, out=distance)
            distance /= self._tail
            np.clip(distance, 0.0, 1.0, out=cover)
        else:
            np.less(distance, self._length, out=cover, casting="unsafe")
        return self._light
