"""Opposing changes of light, found in frame after frame: every pixel goes from one extreme to the other and back."""

import copy
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.scenes.flash.photometry import RED_UV, Chromaticity, Plane
from hub.scenes.flash.thresholds import (
    CHANGE_CD_PER_M2,
    DARKER_BELOW_CD_PER_M2,
    FULL_LIGHT_CD_PER_M2,
    GENERAL_CHANGE,
    GENERAL_DARKER_BELOW,
    MICHELSON,
    RED_CHANGE,
    ROUNDING,
)

Pixels = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Changes:
    """Pixels (their indices) that changed in frame `frame` of a stretch: brighter or to red; darker or away from it."""

    frame: int
    rising: Pixels
    falling: Pixels


class GeneralThreshold:
    """When a change of relative luminance counts. Arrays of any one shape."""

    def __init__(self, change: float, darker_below: float, contrast: float | None) -> None:
        """Over a darker state of `darker_below` or more the lighter must be `contrast` times it; None: none counts."""
        self.change = np.float32(change - ROUNDING)
        self._darker_below = np.float32(darker_below - ROUNDING)
        self._contrast = None if contrast is None else np.float32(contrast - ROUNDING)

    def counts(self, darker: Plane, lighter: Plane) -> NDArray[np.bool_]:
        far: NDArray[np.bool_] = lighter - darker >= self.change
        near_full = darker < self._darker_below
        if self._contrast is not None:
            near_full |= lighter >= darker * self._contrast
        far &= near_full
        return far


WCAG: Final = GeneralThreshold(GENERAL_CHANGE, GENERAL_DARKER_BELOW, None)
# Where the darker state has 160 cd/m² or more, a Michelson contrast of 1/17 is more than 20 cd/m² of difference too.
BT1702: Final = GeneralThreshold(
    CHANGE_CD_PER_M2 / FULL_LIGHT_CD_PER_M2,
    DARKER_BELOW_CD_PER_M2 / FULL_LIGHT_CD_PER_M2,
    (1 + MICHELSON) / (1 - MICHELSON),
)


class LuminanceChanges:
    """Finds changes of relative luminance that count, from extreme to extreme, however gradual.

    A pixel rises or falls; its extreme so far is kept, and an opposite change counts as soon as it is large enough.
    Smaller ones are ripple and turn nothing. Before the first change either direction may be it.
    """

    def __init__(self, threshold: GeneralThreshold, pixels: int) -> None:
        self._threshold = threshold
        self._low = np.full(pixels, np.inf, dtype=np.float32)
        self._high = np.full(pixels, -np.inf, dtype=np.float32)
        self._rose = np.zeros(pixels, dtype=np.bool_)
        self._fell = np.zeros(pixels, dtype=np.bool_)

    def continued(self, threshold: GeneralThreshold) -> "LuminanceChanges":
        """Another one that has seen the same, and goes on by another threshold."""
        other = copy.deepcopy(self)
        other._threshold = threshold
        return other

    def find(self, levels: Plane) -> Iterator[Changes]:
        """Take the next frames: relative luminance, shape (frames, pixels). The frames in which pixels changed."""
        change = self._threshold.change
        lowest, highest = levels.min(axis=0), levels.max(axis=0)
        low, high = np.minimum(self._low, lowest), np.maximum(self._high, highest)
        moving = (highest - low >= change) & ~self._rose
        moving |= (high - lowest >= change) & ~self._fell
        places = np.flatnonzero(moving)
        before = self._low[places], self._high[places]
        # The others only move their extremes, all frames at once; most pixels of most scenes are among them.
        self._low, self._high = low, high
        if not len(places):
            return
        self._low[places], self._high[places] = before
        yield from self._follow(places, levels[:, places])

    def _follow(self, places: Pixels, levels: Plane) -> Iterator[Changes]:
        low, high = self._low[places], self._high[places]
        rose, fell = self._rose[places], self._fell[places]
        for frame, level in enumerate(levels):
            np.minimum(low, level, out=low)
            np.maximum(high, level, out=high)
            rising = self._threshold.counts(low, level) & ~rose
            falling = self._threshold.counts(level, high) & ~fell
            if rising.any() or falling.any():
                _turn(rising, rose, fell)
                _turn(falling, fell, rose)
                np.copyto(high, level, where=rising)
                np.copyto(low, level, where=falling)
                yield Changes(frame, places[rising], places[falling])
        self._low[places], self._high[places] = low, high
        self._rose[places], self._fell[places] = rose, fell


class RedChanges:
    """Finds changes between a saturated red and another state that are far enough apart.

    As reference the extreme of each side is kept: the reddest since the change to red, the one farthest from red since
    the change away. Farthest from red is farthest from the red primary in u′v′. Two saturated reds never oppose: the
    farthest apart that there are, (.8, .2, 0) and (1, 0, 0), lie 0.144 apart.
    """

    def __init__(self, pixels: int) -> None:
        # Rows: u, v, squared distance to the red primary. NaN compares as no distance at all.
        self._reddest = _none_yet(pixels, np.inf)
        self._farthest = _none_yet(pixels, -np.inf)
        self._reddened = np.zeros(pixels, dtype=np.bool_)
        self._left = np.zeros(pixels, dtype=np.bool_)

    def find(self, seen: Chromaticity) -> Iterator[Changes]:
        """Take the next frames, each array of shape (frames, pixels). The frames in which pixels changed."""
        redness = _squared(seen.u - np.float32(RED_UV[0]), seen.v - np.float32(RED_UV[1]))
        concerned = seen.red.any(axis=0)
        concerned |= self._reddened
        self._keep_farthest(seen, redness, np.flatnonzero(~concerned))
        places = np.flatnonzero(concerned)
        if len(places):
            yield from self._follow(
                places, Chromaticity(seen.u[:, places], seen.v[:, places], seen.red[:, places]), redness[:, places]
            )

    def _keep_farthest(self, seen: Chromaticity, redness: Plane, places: Pixels) -> None:
        if not len(places):
            return
        frame = redness.argmax(axis=0)[places]
        farther = redness[frame, places] > self._farthest[2, places]
        places, frame = places[farther], frame[farther]
        self._farthest[:, places] = seen.u[frame, places], seen.v[frame, places], redness[frame, places]

    def _follow(self, places: Pixels, seen: Chromaticity, redness: Plane) -> Iterator[Changes]:
        reddest, farthest = self._reddest[:, places], self._farthest[:, places]
        reddened, left = self._reddened[places], self._left[places]
        for frame, (u, v, red, far) in enumerate(zip(*seen, redness, strict=True)):
            state = np.stack((u, v, far))
            rising = red & ~reddened & _apart(state, farthest)
            falling = ~red & ~left & _apart(state, reddest)
            np.copyto(reddest, state, where=rising | (red & (far < reddest[2])))
            np.copyto(farthest, state, where=falling | (~red & (far > farthest[2])))
            if rising.any() or falling.any():
                _turn(rising, reddened, left)
                _turn(falling, left, reddened)
                yield Changes(frame, places[rising], places[falling])
        self._reddest[:, places], self._farthest[:, places] = reddest, farthest
        self._reddened[places], self._left[places] = reddened, left


def _turn(turned: NDArray[np.bool_], now: NDArray[np.bool_], before: NDArray[np.bool_]) -> None:
    now |= turned
    before &= ~turned


def _none_yet(pixels: int, redness: float) -> Plane:
    states = np.full((3, pixels), np.nan, dtype=np.float32)
    states[2] = redness
    return states


def _squared(u: Plane, v: Plane) -> Plane:
    u *= u
    v *= v
    u += v
    return u


def _apart(state: Plane, reference: Plane) -> NDArray[np.bool_]:
    distance = _squared(state[0] - reference[0], state[1] - reference[1])
    apart: NDArray[np.bool_] = distance > np.float32((RED_CHANGE + ROUNDING) ** 2)
    return apart
