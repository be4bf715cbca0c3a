"""Rows of history, each of a stretch of time: low, mean and high of every quantity; many rows into few. Pure."""

from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import NDArray

from hub.history.block import Figures, Whole
from hub.history.quantities import COLUMNS

LOW, MEAN, HIGH = 0, 1, 2
PARTS: Final = 3


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """`at_ms`: (rows,) where each begins, in order; `figures`: (3, rows, columns) low, mean, high; NaN: not told."""

    at_ms: Whole
    figures: Figures

    @classmethod
    def none(cls) -> Self:
        return cls(np.zeros(0, np.int64), np.zeros((PARTS, 0, len(COLUMNS))))

    @classmethod
    def of_samples(cls, at_ms: Whole, values: Figures) -> Self:
        """Samples, (rows, columns), in any order: each is its own low, mean and high."""
        order = np.argsort(at_ms, kind="stable")
        return cls(at_ms[order], np.broadcast_to(values[order], (PARTS, *values.shape)))

    @classmethod
    def joined(cls, parts: list["Rows"]) -> "Rows":
        """All rows, in order of time."""
        if not parts:
            return Rows.none()
        at_ms = np.concatenate([part.at_ms for part in parts])
        order = np.argsort(at_ms, kind="stable")
        return Rows(at_ms[order], np.concatenate([part.figures for part in parts], axis=1)[:, order])

    def by(self, period_ms: int) -> "Rows":
        """One row for each period, from multiples of it on, in which there are any.

        The mean is that of the rows' means: of a minute its samples count alike, of an hour its minutes, so that a node
        that was asked for more telemetry weighs no more.
        """
        if not len(self.at_ms):
            return self
        periods = self.at_ms // period_ms
        starts = np.flatnonzero(np.diff(periods, prepend=periods[0] - 1))
        low, mean, high = self.figures
        return Rows(
            periods[starts] * period_ms,
            np.stack(
                [np.fmin.reduceat(low, starts, axis=0), _means(mean, starts), np.fmax.reduceat(high, starts, axis=0)]
            ),
        )

    def between(self, from_ms: int, until_ms: int) -> "Rows":
        """The rows that begin within, `until_ms` excluded."""
        first, last = np.searchsorted(self.at_ms, [from_ms, until_ms])
        return Rows(self.at_ms[first:last], self.figures[:, first:last])


def _means(mean: Figures, starts: NDArray[np.intp]) -> Figures:
    told = ~np.isnan(mean)
    number = np.add.reduceat(told, starts, axis=0, dtype=np.int64)
    total: Figures = np.add.reduceat(np.where(told, mean, 0.0), starts, axis=0)
    means: Figures = np.divide(total, number, out=np.full(total.shape, np.nan), where=number > 0)
    return means
