"""An hour that is over: its samples leave the journal and become blocks of every level, in one transaction.

A part of the journal (a shard's share of an hour) is closed at a time. Whatever happens, its samples are either in the
journal or in the blocks. Samples that come for an hour that was closed before are closed again, into the same blocks.
"""

from typing import Final

import numpy as np
from sqlalchemy import Connection, Engine

from hub.history.levels import DAY_MS, HOUR_MS, MINUTE_MS, HistoryLevel, packed, unpacked
from hub.history.rows import Rows
from hub.history.samples import Samples
from hub.history.table import (
    BlockKey,
    a_part,
    delete_part,
    read_blocks,
    read_part,
    write_blocks,
)

GRACE_MS: Final = 30_000
"""How long after its end an hour's last samples may still be on their way."""
SAMPLES_AT_ONCE: Final = 250_000


def close_a_part(engine: Engine, now_ms: int) -> bool:
    """Close one part of an hour that is over, if there is any; whether there was."""
    with engine.connect() as connection:
        part = a_part(connection, (now_ms - GRACE_MS) // HOUR_MS)
        if part is None:
            return False
        shard, hour = part
        samples, last = read_part(connection, shard, hour, SAMPLES_AT_ONCE)
        blocks = _blocks(connection, samples, hour)
    # Nobody else writes history, so that what was read still holds; the transaction is as short as it can be.
    with engine.begin() as connection:
        write_blocks(connection, blocks)
        delete_part(connection, shard, hour, last)
    return True


def _blocks(connection: Connection, samples: Samples, hour: int) -> dict[BlockKey, bytes]:
    """The hour's blocks of each subject, as they are with these samples."""
    samples = samples[np.argsort(samples["subject"], kind="stable")]
    subjects, starts = np.unique(samples["subject"], return_index=True)
    numbers = [int(subject) for subject in subjects]
    day = hour * HOUR_MS // DAY_MS
    raw = _by_subject(connection, numbers, HistoryLevel.RAW, hour)
    minutes = _by_subject(connection, numbers, HistoryLevel.MINUTE, hour)
    hours = _by_subject(connection, numbers, HistoryLevel.HOUR, day)
    blocks: dict[BlockKey, bytes] = {}
    for subject, own in zip(numbers, np.split(samples, starts[1:]), strict=True):
        new = Rows.of_samples(own["at_ms"], own["values"].astype(np.float64))
        known = raw.get(subject)
        every = new if known is None else Rows.joined([known, new])
        by_minute = every.by(MINUTE_MS)
        if known is None and subject in minutes:  # its samples are no longer kept
            by_minute = Rows.joined([minutes[subject], by_minute]).by(MINUTE_MS)
        by_hour = by_minute.by(HOUR_MS)
        if subject in hours:
            others = hours[subject]
            by_hour = Rows.joined(
                [others.between(0, hour * HOUR_MS), by_hour, others.between((hour + 1) * HOUR_MS, (day + 1) * DAY_MS)]
            )
        blocks[subject, HistoryLevel.RAW, hour] = packed(HistoryLevel.RAW, every)
        blocks[subject, HistoryLevel.MINUTE, hour] = packed(HistoryLevel.MINUTE, by_minute)
        blocks[subject, HistoryLevel.HOUR, day] = packed(HistoryLevel.HOUR, by_hour)
    return blocks


def _by_subject(connection: Connection, subjects: list[int], level: HistoryLevel, block: int) -> dict[int, Rows]:
    return {
        subject: unpacked(level, block, payload)
        for subject, _, payload in read_blocks(connection, subjects, level, block, block)
    }
