"""Ember: coals that glow up and die down, each at its own moments."""

from fractions import Fraction
from typing import Annotated, Final, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from node_agent.render.patterns.noise import Noise, NoiseLight, noise_period_s, share_below
from node_agent.render.patterns.statement import Metres, PatternStatement, Seed
from node_agent.render.placement import Placement
from node_agent.render.ramp import Ramp
from schemas import Extent
from schemas.colour import Mix, Stop, Stops, TemperatureColour

_COALS: Final = (
    Stop(at=0.0, colour=TemperatureColour(kelvin=1_000, level=0.004)),
    Stop(at=0.3, colour=TemperatureColour(kelvin=1_000, level=0.03)),
    Stop(at=0.6, colour=TemperatureColour(kelvin=1_250, level=0.2)),
    Stop(at=0.85, colour=TemperatureColour(kelvin=1_700, level=0.65)),
    Stop(at=1.0, colour=TemperatureColour(kelvin=2_600)),
)
_RARITY: Final = 4
_STILL: Final = 0.4  # of the variance: what makes some places coals and others cold


class Ember(PatternStatement):
    """Coals: spots that mostly lie low, glow up now and then, each at its own moments, and die down again."""

    pattern: Literal["ember"]
    stops: Stops = _COALS
    mix: Mix = "oklab"
    size_m: Annotated[Metres, Field(description="About how wide a coal is on the elevation.")] = 0.3
    period_s: Annotated[
        float,
        Field(
            ge=1,
            le=3_600,
            description="About how long from one glow of a coal to the next.",
            json_schema_extra={"unit": "s"},
        ),
    ] = 8.0
    seed: Seed = 0

    def light(self, placement: Placement) -> NoiseLight:
        noise = Noise(placement, self.size_m, self.period_s, self.seed, _STILL)
        return NoiseLight(noise, Ramp(self.stops, self.mix, _rare))

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        return noise_period_s(self.period_s)


def _rare(value: NDArray[np.float64]) -> NDArray[np.float64]:
    """The fourth power of the share of chances below its own: half of all light lies in the lowest sixteenth of the
    ramp, a tenth in the upper third.
    """
    return share_below(value) ** _RARITY
