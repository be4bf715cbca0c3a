"""The minimum-delay filter: a straight line through the samples, each as good as its delay is short.

What an exchange waits beyond the least delay may all be on one way, so half of that excess is its error; and an old
sample has lost what the crystal may have wandered since. The line's slope is the drift, its error the dispersion in the
terms of RFC 5905: half the least delay, the spread of the samples, and the drift's uncertainty times their age.
"""

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from node_agent.clock.sample import ClockSample

SAMPLES_KEPT: Final = 64
FREQUENCY_TOLERANCE: Final = 15e-6
"""RFC 5905 §7.2, PHI: how much a crystal's rate may wander."""

WANDER: Final = 5e-6
"""How much of that shows within the minutes that samples are kept: common practice, a crystal in a room."""

LARGEST_DRIFT: Final = 500e-6
"""RFC 5905's reference implementation, MAXFREQ: no clock is believed to be worse."""

DRIFT_UNKNOWN: Final = 200e-6
"""Standard error of a drift of 0 for a crystal that nobody has measured: 50 ppm is common practice, heat adds to it."""

DRIFT_REMEMBERED: Final = 20e-6
"""The same for a drift that was measured before the last start: temperature moves it by some parts per million."""

SUSPECTS_BELIEVED: Final = 3
"""So many samples in a row that cannot be true beside the others mean that it is the others that no longer are."""

_RESOLUTION_S: Final = 50e-6


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
        """The largest likely error of the offset, seconds."""
        drifted_s = self.drift_error * (now_s - self.at_s)
        unheard_s = max(0.0, now_s - self.newest_s)
        return self.half_delay_s + 2 * math.hypot(self.spread_s, drifted_s) + FREQUENCY_TOLERANCE * unheard_s


class ClockFilter:
    """Keeps the newest samples and the line through them. `drift` is what is known of it beforehand."""

    def __init__(self, drift: float | None = None) -> None:
        self._drift, self._drift_error = (0.0, DRIFT_UNKNOWN) if drift is None else (drift, DRIFT_REMEMBERED)
        self._samples: deque[ClockSample] = deque(maxlen=SAMPLES_KEPT)
        self._suspects: list[ClockSample] = []
        self.fit: ClockFit | None = None

    def add(self, sample: ClockSample) -> ClockFit:
        """The line with this sample. One that contradicts it is set aside until it is clear which of them is wrong."""
        fit = self.fit
        if fit and abs(sample.offset_s - fit.offset_at(sample.taken_s)) > _most_apart_s(sample, fit):
            self._suspects.append(sample)
            if len(self._suspects) < SUSPECTS_BELIEVED:
                return fit
            self._samples.clear()
            self._samples.extend(self._suspects)
            if fit.drift_error < DRIFT_REMEMBERED:
                self._drift, self._drift_error = fit.drift, DRIFT_REMEMBERED  # it is the hub's clock that was stepped
        else:
            self._samples.append(sample)
        self._suspects.clear()
        self.fit = fit_line(self._samples, self._drift, self._drift_error)
        return self.fit


def _most_apart_s(sample: ClockSample, fit: ClockFit) -> float:
    return sample.delay_s / 2 + fit.error_at(sample.taken_s)


def fit_line(samples: Sequence[ClockSample], drift: float, drift_error: float) -> ClockFit:
    """Weighted least squares of offset over time, the drift known beforehand to `drift_error`.

    Each sample weighs by the inverse square of its standard error. Around their weighted middle, offset and slope are
    independent: Draper and Smith, Applied Regression Analysis, ch. 1 (from memory).
    """
    newest = samples[-1]
    delays_s = sorted(sample.delay_s for sample in samples)
    # How far the least delay itself may lie above what the path needs shows in how far the next ones lie above it.
    grain_s = _RESOLUTION_S + (delays_s[min(2, len(delays_s) - 1)] - delays_s[0]) / 8
    weight = middle_s = offset_s = 0.0
    weighed = []
    for sample in samples:
        age_s = newest.taken_s - sample.taken_s
        excess_s = sample.delay_s - delays_s[0]
        # Whatever the others say, no sample errs by more than half its delay.
        error_s = min(grain_s + excess_s / 2, _RESOLUTION_S + sample.delay_s / 2) + WANDER * age_s
        share = 1 / error_s**2
        # Relative to the newest: show time in full would leave no digits for microseconds.
        weighed.append((share, -age_s, sample.offset_s - newest.offset_s))
        weight += share
    middle_s = sum(share * at_s for share, at_s, _ in weighed) / weight
    offset_s = sum(share * apart_s for share, _, apart_s in weighed) / weight
    prior = 1 / drift_error**2
    lever = prior + sum(share * (at_s - middle_s) ** 2 for share, at_s, _ in weighed)
    pull = prior * drift + sum(share * (at_s - middle_s) * (apart_s - offset_s) for share, at_s, apart_s in weighed)
    return ClockFit(
        at_s=newest.taken_s + middle_s,
        newest_s=newest.taken_s,
        offset_s=newest.offset_s + offset_s,
        drift=max(-LARGEST_DRIFT, min(LARGEST_DRIFT, pull / lever)),
        half_delay_s=delays_s[0] / 2,
        spread_s=1 / math.sqrt(weight),
        drift_error=1 / math.sqrt(lever),
    )
