"""Temporal dithering: codes that differ from frame to frame, so that their mean lies between the steps of 8 bits.

Where a fade has come down to a few codes, one step is a tenth of the light and is seen. A value between two codes is
therefore shown as the lower one in some frames and the upper one in the others. The pattern repeats after L frames and
at least PATTERN_HZ times a second: the darker the light, the lower the rate at which the eye stops seeing flicker
(Ferry-Porter law, from memory), and one code is the darkest that there is.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

PATTERN_HZ: Final = 25.0
MOST_LEVELS: Final = 16

_RATE_ROUNDING: Final = 1e-9

# Takes are at whole milliseconds, so at a whole number of frames a second they lie a whole number of thousandths of a
# period from show time 0. Counting begins half a thousandth early: then such frames keep 0.0005 periods from the next
# number, where show time in float64 is exact to 0.0002 at 400 frames a second until the year 2100.
_EARLY_PERIODS: Final = 0.0005

# Odd steps near the golden section of 16 and 8: neighbours get thresholds far apart, and any few pixels in a row an
# even share of them. A step that the bit reversal undoes would make the pattern creep along the run.
_PIXEL_STEPS: Final = {16: 7, 8: 3, 4: 1, 2: 1, 1: 1}


@dataclass(frozen=True, slots=True)
class NodeFrames:
    """A node's frames: how many pixels, and the time from one to the next."""

    pixels: int
    period_s: float


class Dither:
    """The thresholds of one frame, or of several nodes' frames joined one after another.

    A function of show time, each node's period and the pixel's place in its node's frame alone, so that hub and board
    have the same. `plain` is true where no node is fast enough to dither: all thresholds are a half, codes are rounded.
    """

    plain: bool

    def __init__(self, nodes: Sequence[NodeFrames], emitters: int) -> None:
        self._thresholds = np.full((emitters, sum(node.pixels for node in nodes)), 0.5, dtype=np.float32)
        self._patterns: list[tuple[slice, _Pattern]] = []
        most: dict[int, int] = {}
        for node in nodes:
            levels = levels_of(node.period_s)
            most[levels] = max(most.get(levels, 0), node.pixels)
        ladders = {levels: _ladder(levels, pixels, emitters) for levels, pixels in most.items() if levels > 1}
        first = 0
        for node in nodes:
            levels = levels_of(node.period_s)
            if levels > 1 and node.pixels:
                windows = np.lib.stride_tricks.sliding_window_view(ladders[levels], node.pixels)
                pattern = _Pattern(windows, levels, emitters, node.period_s)
                self._patterns.append((slice(first, first + node.pixels), pattern))
            first += node.pixels
        self.plain = not self._patterns
        self._alone = len(nodes) == 1 and not self.plain

    def thresholds(self, show_time_s: float) -> NDArray[np.float32]:
        """Shape (emitters, pixels), each above 0 and below 1; a code is the whole part of value + threshold.

        Over L frames in a row every emitter gets each of (j + ½)/L once. Not to be written to; valid until the
        next call.
        """
        if self._alone:
            return self._patterns[0][1].at(show_time_s)
        for pixels, pattern in self._patterns:
            self._thresholds[:, pixels] = pattern.at(show_time_s)
        return self._thresholds


def levels_of(period_s: float) -> int:
    """L: the largest power of two that repeats at PATTERN_HZ or faster, 1 to MOST_LEVELS."""
    repeats = math.floor(1 / (period_s * PATTERN_HZ) + _RATE_ROUNDING)
    return min(1 << max(repeats.bit_length() - 1, 0), MOST_LEVELS)


def frame_number(show_time_s: float, period_s: float, levels: int) -> int:
    """Which of `levels` frames in a row this is, counted in periods from show time 0."""
    # The remainder of two floats is exact, however large show time is.
    through_s = math.fmod(show_time_s, period_s * levels)
    return math.floor(through_s / period_s + _EARLY_PERIODS) % levels


class _Pattern:
    """The thresholds of one node. All of them are one ladder of thresholds, begun at another place for every frame and
    emitter."""

    def __init__(self, windows: NDArray[np.float32], levels: int, emitters: int, period_s: float) -> None:
        self._levels, self._period_s = levels, period_s
        back, step = pow(_PIXEL_STEPS[levels], -1, levels), _emitter_step(levels)
        starts = [back * rank % levels for rank in _bits_reversed(levels)]
        self._of_frame = [windows[start : start + step * (emitters - 1) + 1 : step] for start in starts]

    def at(self, show_time_s: float) -> NDArray[np.float32]:
        return self._of_frame[frame_number(show_time_s, self._period_s, self._levels)]


def _ladder(levels: int, pixels: int, emitters: int) -> NDArray[np.float32]:
    """Thresholds along a run, long enough for every frame and emitter to begin elsewhere on it."""
    length = pixels + levels - 1 + _emitter_step(levels) * (emitters - 1)
    ranks = np.arange(length) * _PIXEL_STEPS[levels] % levels
    return ((ranks + 0.5) / levels).astype(np.float32)


@cache
def _emitter_step(levels: int) -> int:
    """Places on the ladder from one emitter to the next: a quarter of the thresholds apart, so that the colours of a
    pixel do not step together."""
    return pow(_PIXEL_STEPS[levels], -1, levels) * max(levels // 4, 1) % levels


@cache
def _bits_reversed(levels: int) -> tuple[int, ...]:
    """The van der Corput sequence of base 2, times `levels`: each number is far from those shortly before it."""
    width = levels.bit_length() - 1
    return tuple(int(f"{number:0{width}b}"[::-1], 2) for number in range(levels))
