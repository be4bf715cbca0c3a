"""The minimum-delay filter: the newest samples, the line through them, and what to do about samples that contradict it.

Samples weigh by how little they waited on their way and by how little the crystal may have wandered since; the line's
slope is the drift, its error the dispersion in the terms of RFC 5905: half the least delay, the spread of the samples,
and the drift's uncertainty times their age.
"""

from collections import deque
from typing import Final

from node_agent.clock.fit import ClockFit, fit_line
from node_agent.clock.sample import ClockSample

SAMPLES_KEPT: Final = 64

DRIFT_UNKNOWN: Final = 200e-6
"""Standard error of a drift of 0 for a crystal that nobody has measured: 50 ppm is common practice, heat adds to it."""

DRIFT_REMEMBERED: Final = 20e-6
"""The same for a drift that was measured before the last start: temperature moves it by some parts per million."""

SUSPECTS_BELIEVED: Final = 3
"""So many samples in a row that cannot be true beside the others mean that it is the others that no longer are."""


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
        self.fit = fit_line(self._samples, self._drift, self._drift_error, fit.drift if fit else None)
        return self.fit


def _most_apart_s(sample: ClockSample, fit: ClockFit) -> float:
    return sample.delay_s / 2 + fit.error_at(sample.taken_s)
