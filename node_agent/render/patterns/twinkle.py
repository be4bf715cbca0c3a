"""Twinkle: pixels that glow up and die away at moments that seed, index and period alone decide."""

import math
from fractions import Fraction
from typing import Annotated, Final, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.chance import PERIODS, draw, keys_of
from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import PatternStatement, Seed, exact
from node_agent.render.placement import Placement
from schemas import Extent
from schemas.colour import Colour, Share

_ONSETS: Final = 2**64 - 1  # the draw that decides when a pixel's periods begin


class Twinkle(PatternStatement):
    """Pixels that glow up and die away, each at its own moments."""

    pattern: Literal["twinkle"]
    colour: Annotated[Colour, Field(description="The colour at the height of a glow.", examples=["#ffe8c0"])]
    share: Annotated[Share, Field(description="Share of the pixels that glow in each period.", examples=[0.3])]
    period_s: Annotated[
        float,
        Field(ge=0.35, le=3_600, description="Length of one glow.", examples=[4.0], json_schema_extra={"unit": "s"}),
    ]
    seed: Seed = 0

    def light(self, placement: Placement) -> "TwinkleLight":
        return TwinkleLight(self, placement)

    def repeats_after_s(self, extent: Extent) -> Fraction | None:  # noqa: ARG002
        return PERIODS * exact(self.period_s)


class TwinkleLight:
    """Each pixel's periods begin at its own onset; in each it glows, as sin² over the period, or stays dark.

    A glow starts and ends at nothing, so a change of mind between periods is never seen as a step. At any instant the
    pixels stand in one of two neighbouring periods, whose draws are kept until time leaves them.
    """

    def __init__(self, pattern: Twinkle, placement: Placement) -> None:
        self._share, self._period_s = pattern.share, pattern.period_s
        self._keys = keys_of(placement.index, pattern.seed)
        onset = draw(self._keys, _ONSETS)
        self._onset = onset.astype(np.float32)
        angle = 2 * np.pi * onset
        self._half_sine = (0.5 * np.sin(angle)).astype(np.float32)
        self._half_cosine = (0.5 * np.cos(angle)).astype(np.float32)
        self._number: int | None = None
        self._glows_now = self._glows_next = np.empty(0, dtype=np.float32)
        self._change = np.empty(0, dtype=np.float32)
        self._part = np.empty_like(self._onset)
        self._cover = np.empty_like(self._onset)
        self._light = Light(linear_rgb(pattern.colour)[:, None], self._cover)

    def evaluate(self, show_time_s: float) -> Light:
        number, through = divmod(show_time_s / self._period_s, 1.0)
        self._draw_periods(int(number) % PERIODS)
        angle = 2 * math.pi * through
        part, cover = self._part, self._cover
        np.multiply(self._half_cosine, np.float32(-math.cos(angle)), out=cover)
        np.multiply(self._half_sine, np.float32(math.sin(angle)), out=part)
        cover += part
        cover += np.float32(0.5)
        # Past its onset a pixel is already in the next period: now + passed x (next - now).
        np.greater_equal(self._onset, np.float32(1.0 - through), out=part, casting="unsafe")
        part *= self._change
        part += self._glows_now
        cover *= part
        return self._light

    def _draw_periods(self, number: int) -> None:
        if number == self._number:
            return
        self._glows_now = self._glows_next if self._number == (number - 1) % PERIODS else self._glows(number)
        self._glows_next = self._glows((number + 1) % PERIODS)
        self._change = self._glows_next - self._glows_now
        self._number = number

    def _glows(self, number: int) -> NDArray[np.float32]:
        return (draw(self._keys, number) < self._share).astype(np.float32)
