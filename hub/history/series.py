"""A chart's worth of history: the level that it needs, and at most so many points of it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from sqlalchemy import Connection

from hub.history.block import Figures, Whole
from hub.history.levels import MINUTE_MS, SHAPES, HistoryLevel, Retention, unpacked
from hub.history.quantities import COLUMN, Quantity
from hub.history.rows import HIGH, LOW, MEAN, Rows
from hub.history.table import journal_of, read_blocks

MAX_POINTS: Final = 2_000


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """Lowest, mean and highest of one quantity at each point; NaN where nothing was told."""

    low: Figures
    mean: Figures
    high: Figures


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """`at_ms`: where each point's time begins, `period_ms` apart without a gap; points without a word are NaN."""

    level: HistoryLevel
    from_ms: int
    until_ms: int
    period_ms: int
    at_ms: Whole
    bands: Mapping[Quantity, Band]


@dataclass(frozen=True, slots=True)
class Grid:
    """Which level is read, and how long each point is."""

    level: HistoryLevel
    period_ms: int
    from_ms: int
    until_ms: int

    @property
    def at_ms(self) -> Whole:
        first = self.from_ms // self.period_ms * self.period_ms
        return np.arange(first, self.until_ms, self.period_ms, dtype=np.int64)


def grid_of(from_ms: int, until_ms: int, points: int, *, now_ms: int, retention: Retention, shortest_ms: int) -> Grid:
    """The coarsest level that fills half of the points; a coarser one where that is no longer kept so far back.

    Rows of a finer one would cost up to sixty times as much to read. `points` is at least 2. `shortest_ms`: how short a
    point may be, so that none is empty while all is well.
    """
    # One more point begins before `from_ms`.
    wanted_ms = max(math.ceil((until_ms - from_ms) / (points - 1)), shortest_ms)
    kept = [level for level in HistoryLevel if from_ms >= retention.oldest_ms(level, now_ms)]
    fine_enough = [level for level in kept if SHAPES[level].period_ms <= 2 * wanted_ms]
    level = fine_enough[-1] if fine_enough else kept[0] if kept else HistoryLevel.HOUR
    period_ms = SHAPES[level].period_ms
    return Grid(level, math.ceil(wanted_ms / period_ms) * period_ms, from_ms, until_ms)


def read_rows(connection: Connection, subject: int, grid: Grid) -> Rows:
    """A subject's rows of the grid's level and time, from blocks and from what is still in the journal."""
    shape = SHAPES[grid.level]
    from_ms, until_ms = int(grid.at_ms[0]), grid.until_ms
    blocks = read_blocks(connection, [subject], grid.level, from_ms // shape.block_ms, (until_ms - 1) // shape.block_ms)
    parts = [unpacked(grid.level, block, payload) for _, block, payload in blocks]
    fresh = journal_of(connection, subject, from_ms, until_ms)
    if len(fresh):
        rows = Rows.of_samples(fresh["at_ms"], fresh["values"].astype(np.float64))
        if grid.level is not HistoryLevel.RAW:
            rows = rows.by(MINUTE_MS)
        parts.append(rows.by(shape.period_ms) if grid.level is HistoryLevel.HOUR else rows)
    return Rows.joined(parts).between(from_ms, until_ms)


def series_of(rows: Rows, grid: Grid, quantities: Sequence[Quantity]) -> Series:
    """Rows laid onto the grid."""
    pooled = rows.by(grid.period_ms)
    at_ms = grid.at_ms
    places = (pooled.at_ms - at_ms[0]) // grid.period_ms
    columns = [COLUMN[quantity] for quantity in quantities]
    laid = np.full((3, len(at_ms), len(columns)), np.nan)
    laid[:, places] = pooled.figures[:, :, columns]
    bands = {
        quantity: Band(laid[LOW, :, place], laid[MEAN, :, place], laid[HIGH, :, place])
        for place, quantity in enumerate(quantities)
    }
    return Series(grid.level, grid.from_ms, grid.until_ms, grid.period_ms, at_ms, bands)
