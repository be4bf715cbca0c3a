"""Drift: colours that wander slowly over the elevation, as shadows of clouds do."""

from fractions import Fraction
from typing import Annotated, Literal

from pydantic import Field

from node_agent.render.patterns.noise import Noise, NoiseLight, noise_period_s, share_below
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

    def light(self, placement: Placement) -> NoiseLight:
        noise = Noise(placement, self.size_m, self.period_s, self.seed)
        return NoiseLight(noise, Ramp(self.stops, self.mix, share_below))

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        return noise_period_s(self.period_s)
