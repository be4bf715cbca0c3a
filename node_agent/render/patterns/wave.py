"""Wave: a travelling swell between two colours."""

import math
from fractions import Fraction
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import (
    AlongAxis,
    Metres,
    MetresPerSecond,
    PatternStatement,
    travel_period_s,
)
from node_agent.render.placement import Placement
from node_agent.render.ramp import Ramp
from schemas import Extent
from schemas.colour import Colour, Mix, Stop


class Wave(PatternStatement):
    """A travelling sine between two colours."""

    pattern: Literal["wave"]
    crest: Annotated[Colour, Field(description="The colour at the top of the wave.", examples=["#ffb060"])]
    trough: Annotated[Colour, Field(description="The colour at the bottom of the wave.", examples=["#30160a"])]
    mix: Mix = "oklab"
    along: AlongAxis = "s"
    wavelength_m: Annotated[Metres, Field(description="From crest to crest.", examples=[3.0])]
    speed_m_per_s: Annotated[
        MetresPerSecond, Field(description="How fast it travels; negative runs backwards.", examples=[0.3])
    ]

    def light(self, placement: Placement) -> "WaveLight":
        return WaveLight(self, placement)

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        return travel_period_s(self.wavelength_m, self.speed_m_per_s)


class WaveLight:
    """½ + ½ sin(a − b), with a from the place and b from the time, is opened up as ½ + ½ sin a cos b − ½ cos a sin b:
    a frame then needs no sine of an array, and rounds the same on every processor.
    """

    def __init__(self, pattern: Wave, placement: Placement) -> None:
        turns = placement.along_m(pattern.along) / pattern.wavelength_m
        angle = 2 * np.pi * (turns % 1.0)
        self._half_sine = (0.5 * np.sin(angle)).astype(np.float32)
        self._half_cosine = (0.5 * np.cos(angle)).astype(np.float32)
        self._turns_per_s = pattern.speed_m_per_s / pattern.wavelength_m
        self._ramp = Ramp((Stop(at=0.0, colour=pattern.trough), Stop(at=1.0, colour=pattern.crest)), pattern.mix)
        self._height = np.empty_like(self._half_sine)
        self._part = np.empty_like(self._half_sine)
        self._index = np.empty(turns.size, dtype=np.intp)
        self._light = Light(np.empty((3, turns.size), dtype=np.float32))

    def evaluate(self, show_time_s: float) -> Light:
        angle = 2 * math.pi * (show_time_s * self._turns_per_s % 1.0)
        height, part = self._height, self._part
        np.multiply(self._half_sine, np.float32(math.cos(angle)), out=height)
        np.multiply(self._half_cosine, np.float32(math.sin(angle)), out=part)
        height -= part
        height += np.float32(0.5)
        self._ramp.look_up(height, self._index, self._light.colour)
        return self._light
