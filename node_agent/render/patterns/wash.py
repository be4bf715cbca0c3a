"""Wash: one colour over the whole zone."""

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from schemas import Wash


def light_wash(pattern: Wash) -> Light:
    return Light(linear_rgb(pattern.colour)[:, None])
