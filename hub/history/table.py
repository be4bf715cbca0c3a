"""History in the database: subjects, the journal of the hour, blocks."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Final

import numpy as np
from sqlalchemy import Connection, Engine, delete, insert, select, tuple_
from sqlalchemy.dialects import postgresql, sqlite

from hub.history.levels import HOUR_MS, SHAPES, HistoryLevel
from hub.history.models import HistoryBlock, HistoryJournal, HistorySubject
from hub.history.quantities import SubjectKind
from hub.history.samples import SAMPLE, Samples

SHARDS: Final = 32
PURGED_AT_ONCE: Final = 500

SubjectName = tuple[str, SubjectKind, str]  # venue, kind, name
BlockKey = tuple[int, HistoryLevel, int]  # subject, level, block

_SUBJECT = HistorySubject.__table__  # type: ignore[attr-defined]
_JOURNAL = HistoryJournal.__table__  # type: ignore[attr-defined]
_BLOCK = HistoryBlock.__table__  # type: ignore[attr-defined]
_LEVELS: Final = {shape.number: level for level, shape in SHAPES.items()}


@contextmanager
def one_moment(engine: Engine) -> Iterator[Connection]:
    """A connection on which everything is read as it was at one moment: while an hour is closed, nothing is there twice
    and nothing is missing."""
    if engine.dialect.name == "postgresql":
        with engine.connect().execution_options(isolation_level="REPEATABLE READ") as connection:
            yield connection
    else:
        with engine.connect() as connection:
            connection.exec_driver_sql("BEGIN")  # the driver itself begins nothing before it reads
            yield connection


def subject_number(connection: Connection, name: SubjectName) -> int | None:
    """None for one that has no history."""
    venue, kind, own = name
    statement = select(_SUBJECT.c.id).where(
        _SUBJECT.c.venue == venue, _SUBJECT.c.kind == kind.value, _SUBJECT.c.name == own
    )
    return connection.execute(statement).scalar_one_or_none()


def number_subjects(connection: Connection, names: Sequence[SubjectName]) -> list[int]:
    """The number of each; those that have none get one."""
    known = _numbers(connection, {venue for venue, _, _ in names})
    new = [name for name in dict.fromkeys(names) if name not in known]
    if new:
        rows = [{"venue": venue, "kind": kind.value, "name": own} for venue, kind, own in new]
        connection.execute(insert(_SUBJECT), rows)
        known = _numbers(connection, {venue for venue, _, _ in names})
    return [known[name] for name in names]


def add_to_journal(connection: Connection, samples: Samples) -> None:
    """A row for each hour and shard."""
    hours = samples["at_ms"] // HOUR_MS
    places = hours * SHARDS + samples["subject"] % SHARDS
    order = np.argsort(places, kind="stable")
    samples, places = samples[order], places[order]
    starts = np.flatnonzero(np.diff(places, prepend=places[0] - 1))
    rows = [
        {"shard": int(place % SHARDS), "hour": int(place // SHARDS), "samples": len(part), "payload": part.tobytes()}
        for place, part in zip(places[starts], np.split(samples, starts[1:]), strict=True)
    ]
    connection.execute(insert(_JOURNAL), rows)


def a_part(connection: Connection, before_hour: int) -> tuple[int, int] | None:
    """(shard, hour) of which the journal has samples from before an hour; None where it has none."""
    over = _JOURNAL.c.shard.in_(range(SHARDS)), _JOURNAL.c.hour < before_hour  # a look into the index for each shard
    row = connection.execute(select(_JOURNAL.c.shard, _JOURNAL.c.hour).where(*over).limit(1)).one_or_none()
    return None if row is None else (row.shard, row.hour)


def read_part(connection: Connection, shard: int, hour: int, at_most: int) -> tuple[Samples, int]:
    """The oldest samples of a part of the journal, about `at_most`, and the number of the last row that has them."""
    last, number = 0, 0
    for row in connection.execute(
        select(_JOURNAL.c.id, _JOURNAL.c.samples)
        .where(_JOURNAL.c.shard == shard, _JOURNAL.c.hour == hour)
        .order_by(_JOURNAL.c.id)
    ):
        last, number = row.id, number + row.samples
        if number >= at_most:
            break
    statement = select(_JOURNAL.c.payload).where(
        _JOURNAL.c.shard == shard, _JOURNAL.c.hour == hour, _JOURNAL.c.id <= last
    )
    return _joined(connection.execute(statement.order_by(_JOURNAL.c.id)).scalars()), last


def delete_part(connection: Connection, shard: int, hour: int, last: int) -> None:
    """What `read_part` gave."""
    connection.execute(
        delete(_JOURNAL).where(_JOURNAL.c.shard == shard, _JOURNAL.c.hour == hour, _JOURNAL.c.id <= last)
    )


def journal_of(connection: Connection, subject: int, from_ms: int, until_ms: int) -> Samples:
    """A subject's samples of the hours of which some lie within, that are still in the journal."""
    statement = select(_JOURNAL.c.payload).where(
        _JOURNAL.c.shard == subject % SHARDS, _JOURNAL.c.hour.between(from_ms // HOUR_MS, (until_ms - 1) // HOUR_MS)
    )
    samples = _joined(connection.execute(statement).scalars())
    own: Samples = samples[samples["subject"] == subject]
    return own


def read_blocks(
    connection: Connection, subjects: Iterable[int], level: HistoryLevel, first: int, last: int
) -> list[tuple[int, int, bytes]]:
    """(subject, block, payload) of the blocks `first` to `last`, both included, in order."""
    rows = connection.execute(
        select(_BLOCK.c.subject, _BLOCK.c.block, _BLOCK.c.payload)
        .where(
            _BLOCK.c.subject.in_(list(subjects)),
            _BLOCK.c.level == SHAPES[level].number,
            _BLOCK.c.block.between(first, last),
        )
        .order_by(_BLOCK.c.subject, _BLOCK.c.block)
    )
    return [(row.subject, row.block, row.payload) for row in rows]


def write_blocks(connection: Connection, blocks: Mapping[BlockKey, bytes]) -> None:
    """Each in the place of what was there before."""
    upsert = (postgresql if connection.dialect.name == "postgresql" else sqlite).insert(_BLOCK)
    statement = upsert.on_conflict_do_update(
        index_elements=["subject", "level", "block"], set_={"payload": upsert.excluded.payload}
    )
    rows = [
        {"subject": subject, "level": SHAPES[level].number, "block": block, "payload": payload}
        for (subject, level, block), payload in blocks.items()
    ]
    if rows:
        connection.execute(statement, rows)


def purge_blocks(connection: Connection, level: HistoryLevel, oldest_ms: int) -> bool:
    """Forget some blocks that ended before; whether more may be left."""
    key = (_BLOCK.c.subject, _BLOCK.c.level, _BLOCK.c.block)
    before = oldest_ms // SHAPES[level].block_ms
    old = select(*key).where(_BLOCK.c.level == SHAPES[level].number, _BLOCK.c.block < before).limit(PURGED_AT_ONCE)
    return connection.execute(delete(_BLOCK).where(tuple_(*key).in_(old))).rowcount >= PURGED_AT_ONCE


def _numbers(connection: Connection, venues: set[str]) -> dict[SubjectName, int]:
    rows = connection.execute(select(_SUBJECT).where(_SUBJECT.c.venue.in_(venues)))
    return {(row.venue, SubjectKind(row.kind), row.name): row.id for row in rows}


def _joined(payloads: Iterable[bytes]) -> Samples:
    return np.frombuffer(b"".join(payloads), SAMPLE)
