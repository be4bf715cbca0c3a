"""Spot: named pixels of the zone in one colour over the rest."""

import numpy as np

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from node_agent.render.placement import Placement
from schemas import Spot


def light_spot(pattern: Spot, placement: Placement) -> Light:
    cover = np.zeros(placement.index.shape, dtype=np.float32)
    for span in pattern.spans:
        cover[(placement.index >= span.first) & (placement.index < span.first + span.pixels)] = 1.0
    return Light(linear_rgb(pattern.colour)[:, None], cover)
