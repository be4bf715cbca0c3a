"""Pure rendering: scene, show time and pixel positions in, linear RGB out. No I/O, no clock, no global state."""

from node_agent.render.colour import linear_from_srgb, linear_rgb
from node_agent.render.placement import Placement, PlacementError, channel_slices, place_zone
from node_agent.render.renderer import Renderer

__all__ = [
    "Placement",
    "PlacementError",
    "Renderer",
    "channel_slices",
    "linear_from_srgb",
    "linear_rgb",
    "place_zone",
]
