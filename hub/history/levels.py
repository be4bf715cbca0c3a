"""The levels of history: how fine, how long kept, and a subject's rows of an hour or a day as one block. Pure."""

import logging
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType
from typing import Final

import numpy as np

from hub.history.block import pack, unpack
from hub.history.quantities import STEPS
from hub.history.rows import HIGH, LOW, MEAN, Rows

log = logging.getLogger(__name__)

SECOND_MS: Final = 1_000
MINUTE_MS: Final = 60 * SECOND_MS
HOUR_MS: Final = 60 * MINUTE_MS
DAY_MS: Final = 24 * HOUR_MS


class HistoryLevel(StrEnum):
    """How finely history is kept: every sample, one row a minute, one row an hour."""

    RAW = "raw"
    MINUTE = "minute"
    HOUR = "hour"


@dataclass(frozen=True, slots=True)
class Shape:
    """`number` in the database; `period_ms` of a row; `block_ms`: what one block holds; `unit_ms` of a row's place."""

    number: int
    period_ms: int
    block_ms: int
    unit_ms: int


SHAPES: Final = MappingProxyType(
    {
        HistoryLevel.RAW: Shape(0, SECOND_MS, HOUR_MS, 1),
        HistoryLevel.MINUTE: Shape(1, MINUTE_MS, HOUR_MS, MINUTE_MS),
        HistoryLevel.HOUR: Shape(2, HOUR_MS, DAY_MS, HOUR_MS),
    }
)


@dataclass(frozen=True, slots=True)
class Retention:
    """For how many days each level is kept."""

    days: Mapping[HistoryLevel, int] = field(
        default_factory=lambda: MappingProxyType(
            {HistoryLevel.RAW: 1, HistoryLevel.MINUTE: 31, HistoryLevel.HOUR: 3_652}
        )
    )

    def oldest_ms(self, level: HistoryLevel, now_ms: int) -> int:
        """Blocks that end before this go."""
        return now_ms - self.days[level] * DAY_MS


def packed(level: HistoryLevel, rows: Rows) -> bytes:
    """The rows of one block. Raw rows are samples; of others the mean is stored, and how far low and high are off."""
    unit_ms, block_ms = SHAPES[level].unit_ms, SHAPES[level].block_ms
    at = rows.at_ms % block_ms // unit_ms
    if level is HistoryLevel.RAW:
        return pack(at, rows.figures[MEAN : MEAN + 1], STEPS)
    mean = np.rint(rows.figures[MEAN] / STEPS) * STEPS
    spread = [mean, np.fmax(mean - rows.figures[LOW], 0.0), np.fmax(rows.figures[HIGH] - mean, 0.0)]
    return pack(at, np.stack([np.where(np.isnan(mean), np.nan, part) for part in spread]), STEPS)


def unpacked(level: HistoryLevel, block: int, payload: bytes) -> Rows:
    """The rows of a block, the `block`-th since 1970. A damaged one is logged and has none."""
    try:
        at, figures = unpack(payload, STEPS)
    except ValueError as error:
        log.error("history lost level=%s block=%d reason=%s", level, block, error)
        return Rows.none()
    at_ms = at * SHAPES[level].unit_ms + block * SHAPES[level].block_ms
    if level is HistoryLevel.RAW:
        return Rows.of_samples(at_ms, figures[0])
    mean, below, above = figures
    return Rows(at_ms, np.stack([mean - below, mean, mean + above]))
