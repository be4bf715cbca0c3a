"""Twinkle: pixels that glow up and die away at moments that seed, index and period alone decide."""

import math

import numpy as np
from numpy.typing import NDArray

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from node_agent.render.placement import Placement
from schemas import Twinkle

_GOLDEN = np.uint64(0x9E3779B97F4A7C15)
_ONSETS = 2**64 - 1  # a period number that no show time reaches: the draw that decides when a pixel's periods begin


class TwinkleLight:
    """Each pixel's periods begin at its own onset; in each it glows, as sin² over the period, or stays dark.

    A glow starts and ends at nothing, so a change of mind between periods is never seen as a step. At any instant the
    pixels stand in one of two neighbouring periods, whose draws are kept until time leaves them.
    """

    def __init__(self, pattern: Twinkle, placement: Placement) -> None:
        self._share, self._period_s = pattern.share, pattern.period_s
        # The finaliser of SplitMix64 (Steele, Lea, Flood 2014) over a Weyl step per pixel, keyed by the mixed seed.
        self._key = _mixed(placement.index.astype(np.uint64) * _GOLDEN ^ _mixed(np.array([pattern.seed], np.uint64)))
        onset = _unit(self._draw(_ONSETS))
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
        self._draw_periods(int(number))
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
        self._glows_now = self._glows_next if self._number == number - 1 else self._glows(number)
        self._glows_next = self._glows(number + 1)
        self._change = self._glows_next - self._glows_now
        self._number = number

    def _glows(self, number: int) -> NDArray[np.float32]:
        return (_unit(self._draw(number % _ONSETS)) < self._share).astype(np.float32)

    def _draw(self, number: int) -> NDArray[np.uint64]:
        return _mixed(self._key + _mixed(np.array([number], np.uint64)))


def _mixed(value: NDArray[np.uint64]) -> NDArray[np.uint64]:
    value = value + _GOLDEN
    value = (value ^ (value >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    value = (value ^ (value >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return value ^ (value >> np.uint64(31))


def _unit(draw: NDArray[np.uint64]) -> NDArray[np.float64]:
    """The upper 53 bits of a draw as a float in [0, 1)."""
    return (draw >> np.uint64(11)).astype(np.float64) * 2.0**-53
