"""Spot: named pixels of the zone in one colour over the rest."""

from collections.abc import Iterator
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import Misfit, PatternStatement
from node_agent.render.placement import Placement
from schemas import Extent
from schemas.bounds import MAX_SPOT_SPANS
from schemas.colour import Colour
from schemas.contract import Contract


class SpotSpan(Contract):
    """Pixels of the zone by index: `pixels` of them, starting at `first`."""

    first: Annotated[int, Field(ge=0, le=10_000_000, description="Index within the zone, from 0.", examples=[0])]
    pixels: Annotated[int, Field(ge=1, le=100_000, description="How many.")] = 1


class Spot(PatternStatement):
    """Named pixels in one colour over whatever the layers below show."""

    pattern: Literal["spot"]
    colour: Annotated[Colour, Field(description="The colour of the named pixels.", examples=["#ffffff"])]
    spans: Annotated[
        tuple[SpotSpan, ...],
        Field(min_length=1, max_length=MAX_SPOT_SPANS, description="Which pixels, counted along the zone from 0."),
    ]

    def misfits(self, extent: Extent) -> Iterator[Misfit]:
        for place, span in enumerate(self.spans):
            last = span.first + span.pixels - 1
            if last >= extent.pixels:
                yield Misfit(
                    ("spans", place),
                    f"the spot reaches pixel {last}, past the end of its zone: the last pixel is {extent.pixels - 1}",
                    "shorten the spot, or correct `first`",
                )

    def light(self, placement: Placement) -> Light:
        cover = np.zeros(placement.index.shape, dtype=np.float32)
        for span in self.spans:
            cover[(placement.index >= span.first) & (placement.index < span.first + span.pixels)] = 1.0
        return Light(linear_rgb(self.colour)[:, None], cover)
