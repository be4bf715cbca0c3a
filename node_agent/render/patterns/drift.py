"""Drift: colours that wander slowly over the elevation, as shadows of clouds do."""

from fractions import Fraction
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from node_agent.render.patterns.light import Light
from node_agent.render.patterns.noise import Noise, noise_period_s, share_below
from node_agent.render.patterns.statement import Metres, PatternStatement, Seed
from node_agent.render.placement import Placement
from node_agent.render.ramp import Ramp
from schemas import Extent
from schemas.colour import Mix, Stops


class Drift(PatternStatement):
    """Colours that wander slowly over the elevation; each part of the ramp gets its even share of place and time."""

    pattern: Literal["drift"]
    stops: Stops
    mix: Mix = "oklab"
    size_m: Annotated[Metres, Field(description="About how wide a patch of colour is on the elevation.")] = 3.0
    period_s: Annotated[
        float,
        Field(
            ge=1,
            le=3_600,
            description="About how long a place takes through its colours and back.",
            json_schema_extra={"unit": "s"},
        ),
    ] = 30.0
    seed: Seed = 0

    def light(self, placement: Placement) -> "DriftLight":
        return DriftLight(self, placement)

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        return noise_period_s(self.period_s)


class DriftLight:
    """Chance looked up in a ramp over how chances lie."""

    def __init__(self, pattern: Drift, placement: Placement) -> None:
        self._noise = Noise(placement, pattern.size_m, pattern.period_s, pattern.seed)
        self._ramp = Ramp(pattern.stops, pattern.mix, share_below)
        self._height = np.empty(placement.x_m.size, dtype=np.float32)
        self._index = np.empty(placement.x_m.size, dtype=np.intp)
        self._light = Light(np.empty((3, placement.x_m.size), dtype=np.float32))

    def evaluate(self, show_time_s: float) -> Light:
        self._noise.at(show_time_s, self._height)
        self._ramp.look_up(self._height, self._index, self._light.colour)
        return self._light
