"""Pure rendering: scene, show time and pixel positions in, linear RGB out. No I/O, no clock, no global state.

Importing this loads every pattern.
"""

from node_agent.render import patterns as _patterns  # noqa: F401 (each registers its statement)
from node_agent.render.colour import linear_from_srgb, linear_of_kelvin, linear_rgb
from node_agent.render.layer import weight_of
from node_agent.render.patterns.statement import PatternStatement
from node_agent.render.placement import Along, Placement, PlacementError, channel_slices, place_zone
from node_agent.render.renderer import Renderer

__all__ = [
    "Along",
    "PatternStatement",
    "Placement",
    "PlacementError",
    "Renderer",
    "channel_slices",
    "linear_from_srgb",
    "linear_of_kelvin",
    "linear_rgb",
    "place_zone",
    "weight_of",
]
