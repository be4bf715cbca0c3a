"""Gradient: colours between stops, interpolated in linear light, measured against the whole zone."""

import numpy as np

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from node_agent.render.placement import Placement
from schemas import Gradient


def light_gradient(pattern: Gradient, placement: Placement) -> Light:
    """Beyond the outer stops their colours go on; a zone without length shows its beginning."""
    length_m = placement.length_m(pattern.along)
    along_m = placement.along_m(pattern.along)
    share = along_m / length_m if length_m > 0 else np.zeros_like(along_m)
    places = [stop.at for stop in pattern.stops]
    colours = np.array([linear_rgb(stop.colour) for stop in pattern.stops], dtype=np.float64)
    return Light(np.array([np.interp(share, places, emitter) for emitter in colours.T], dtype=np.float32))
