"""Wash: one colour over the whole zone."""

from typing import Annotated, Literal

from pydantic import Field

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import PatternStatement
from node_agent.render.placement import Placement
from schemas.colour import Colour


class Wash(PatternStatement):
    """One colour over the whole zone."""

    pattern: Literal["wash"]
    colour: Annotated[Colour, Field(description="The colour of every pixel.", examples=["#ffb060"])]

    def light(self, placement: Placement) -> Light:  # noqa: ARG002 (alike everywhere)
        return Light(linear_rgb(self.colour)[:, None])
