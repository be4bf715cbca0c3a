"""The line through the samples: show time minus the node's clock, over the node's clock.

Each way of the path is looked at by itself, since what waits on one seldom waits on the other. A message down cannot
come before it was sent, so offset - delay / 2 lies below the true offset; an answer cannot be sent after it came, so
offset + delay / 2 lies above it. The least delay of each way lies nearest; the truth is taken to be half way between.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from node_agent.clock.sample import ClockSample

FREQUENCY_TOLERANCE: Final = 15e-6
"""RFC 5905 §7.2, PHI: how much a crystal's rate may wander."""

WANDER: Final = 5e-6
"""How much of that shows within the minutes that samples are kept: common practice, a crystal in a room."""

LARGEST_DRIFT: Final = 500e-6
"""RFC 5905's reference implementation, MAXFREQ: no clock is believed to be worse."""

RESOLUTION_S: Final = 50e-6  # of the stamps: what Python takes to read a clock and go on
_PASSES: Final = 3


@dataclass(frozen=True, slots=True)
class ClockFit:
    """Show time minus the node's clock: `offset_s` at `at_s` of the node's clock, growing by `drift` seconds a second.

    `spread_s` and `drift_error` are standard errors; `half_delay_s` bounds what an asymmetric path may hide.
    """

    at_s: float
    newest_s: float
    offset_s: float
    drift: float
    half_delay_s: float
    spread_s: float
    drift_error: float

    def offset_at(self, now_s: float) -> float:
        return self.offset_s + self.drift * (now_s - self.at_s)

    def error_at(self, now_s: float) -> float:
        """The largest likely error of the offset, seconds: the dispersion in the terms of RFC 5905."""
        drifted_s = self.drift_error * (now_s - self.at_s)
        unheard_s = max(0.0, now_s - self.newest_s)
        return self.half_delay_s + 2 * math.hypot(self.spread_s, drifted_s) + FREQUENCY_TOLERANCE * unheard_s


@dataclass(frozen=True, slots=True)
class _Way:
    """The samples of one way, each with its weight, and their weighted middle."""

    points: Sequence[tuple[float, float, float]]
    weight: float
    at_s: float
    offset_s: float

    @property
    def lever(self) -> float:
        return sum(weight * (at_s - self.at_s) ** 2 for at_s, _, weight in self.points)

    @property
    def pull(self) -> float:
        return sum(weight * (at_s - self.at_s) * (offset_s - self.offset_s) for at_s, offset_s, weight in self.points)


def fit_line(samples: Sequence[ClockSample], drift: float, drift_error: float, slope: float | None = None) -> ClockFit:
    """Weighted least squares of two parallel lines, one each way, the drift known beforehand to `drift_error`.

    How late a message came shows only once the drift is taken out, so the line is fitted some times over, first with
    `slope`. Around their weighted middles, levels and slope are independent: Draper and Smith, Applied Regression
    Analysis, ch. 1 (from memory).
    """
    slope = drift if slope is None else slope
    prior = 1 / drift_error**2
    for _ in range(_PASSES):
        down, up = _way(samples, -1, slope), _way(samples, 1, slope)
        lever = prior + down.lever + up.lever
        slope = (prior * drift + down.pull + up.pull) / lever
        slope = max(-LARGEST_DRIFT, min(LARGEST_DRIFT, slope))
    newest = samples[-1]
    at_s = (down.weight * down.at_s + up.weight * up.at_s) / (down.weight + up.weight)
    below_s, above_s = (way.offset_s + slope * (at_s - way.at_s) for way in (down, up))
    return ClockFit(
        at_s=newest.taken_s + at_s,
        newest_s=newest.taken_s,
        offset_s=newest.offset_s + (below_s + above_s) / 2,
        drift=slope,
        half_delay_s=max(0.0, above_s - below_s) / 2,
        spread_s=math.sqrt(1 / down.weight + 1 / up.weight) / 2,
        drift_error=1 / math.sqrt(lever),
    )


def _way(samples: Sequence[ClockSample], side: int, slope: float) -> _Way:
    """`side` is -1 for the way down to the node, whose points lie below the truth, and 1 for the way up."""
    newest = samples[-1]
    # Relative to the newest: show time in full would leave no digits for microseconds.
    ages_s = [newest.taken_s - sample.taken_s for sample in samples]
    offsets_s = [sample.offset_s - newest.offset_s + side * sample.delay_s / 2 for sample in samples]
    late_s = [side * (offset_s + slope * age_s) for offset_s, age_s in zip(offsets_s, ages_s, strict=True)]
    ordered_s = sorted(late_s)
    # How far the least itself may lie above what the path needs shows in how far the next ones lie above it.
    grain_s = RESOLUTION_S + (ordered_s[min(2, len(ordered_s) - 1)] - ordered_s[0]) / 4
    points = []
    weight = at_s = level_s = 0.0
    for sample, age_s, offset_s, waited_s in zip(samples, ages_s, offsets_s, late_s, strict=True):
        # Whatever the others say, nothing waits on one way for longer than on both.
        error_s = min(grain_s + waited_s - ordered_s[0], RESOLUTION_S + sample.delay_s) + WANDER * age_s
        share = 1 / error_s**2
        points.append((-age_s, offset_s, share))
        weight += share
        at_s -= share * age_s
        level_s += share * offset_s
    return _Way(points, weight, at_s / weight, level_s / weight)
