"""Gradient: colours from place to place, still, measured against the whole zone."""

from typing import Literal

import numpy as np

from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import AlongAxis, PatternStatement
from node_agent.render.placement import Placement
from node_agent.render.ramp import Ramp
from schemas.colour import Mix, Stops


class Gradient(PatternStatement):
    """Colours between stops, from the zone's beginning (0) to its end (1), still."""

    pattern: Literal["gradient"]
    along: AlongAxis = "s"
    stops: Stops
    mix: Mix = "oklab"

    def light(self, placement: Placement) -> Light:
        """A zone without length shows its beginning."""
        length_m = placement.length_m(self.along)
        along_m = placement.along_m(self.along)
        share = along_m / length_m if length_m > 0 else np.zeros_like(along_m)
        return Light(Ramp(self.stops, self.mix).exactly(share))
