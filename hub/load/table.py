"""Load in the database: samples added to their day, and each supply's load over the days that are kept."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from sqlalchemy import Connection, delete, func, select
from sqlalchemy.dialects import postgresql, sqlite

from hub.load.histogram import BINS, Seconds, percentile_a
from hub.load.models import LoadDay
from hub.load.sampler import LoadBatch

_TABLE = LoadDay.__table__  # type: ignore[attr-defined]
_STORED: Final = np.dtype("<f4")
SHARE: Final = 0.95


@dataclass(frozen=True, slots=True)
class SupplyLoad:
    """What a supply carried, all its nodes together, over the days that are kept.

    `highest_a`: the highest total within about one telemetry interval, each node by its highest frame of it: no frame
    was higher while all nodes were heard, and with one node it is the highest frame. `percentile_95_a`: what it did not
    exceed for 95 % of `hours`, within 0.5 % of the rating; None with no such hour. `hours`: how long all its nodes were
    heard.
    """

    highest_a: float
    percentile_95_a: float | None
    hours: float


def add_samples(connection: Connection, batches: Iterable[LoadBatch]) -> None:
    """Add to what the days have already."""
    for batch in batches:
        places = np.flatnonzero((batch.highest_a > 0) | batch.seconds.any(axis=1)).tolist()
        if not places:
            continue
        known = _seconds_of(connection, batch.venue, batch.day)
        rows = []
        for place in places:
            supply, rated_ma = batch.supplies[place], round(batch.rated_a[place] * 1_000)
            seconds = batch.seconds[place] + known.get((supply, rated_ma), 0.0)
            rows.append(
                {
                    "venue": batch.venue,
                    "supply": supply,
                    "day": batch.day,
                    "rated_ma": rated_ma,
                    "seconds": seconds.astype(_STORED).tobytes(),
                    "highest_a": float(batch.highest_a[place]),
                }
            )
        _upsert(connection, rows)


def load_by_supply(connection: Connection, venue: str, oldest: str) -> Mapping[str, SupplyLoad]:
    """Each supply's load from the day `oldest` on; supplies never heard of are absent."""
    spent: dict[str, dict[int, Seconds]] = {}
    highest: dict[str, float] = {}
    for row in connection.execute(select(_TABLE).where(_TABLE.c.venue == venue, _TABLE.c.day >= oldest)):
        by_rating = spent.setdefault(row.supply, {})
        by_rating[row.rated_ma] = by_rating.get(row.rated_ma, 0.0) + _read(row.seconds)
        highest[row.supply] = max(row.highest_a, highest.get(row.supply, 0.0))
    return {
        supply: SupplyLoad(
            highest_a=highest[supply],
            percentile_95_a=percentile_a(
                [(rated_ma / 1_000, seconds) for rated_ma, seconds in by_rating.items()], SHARE, highest[supply]
            ),
            hours=float(sum(seconds.sum() for seconds in by_rating.values())) / 3_600,
        )
        for supply, by_rating in spent.items()
    }


def purge(connection: Connection, oldest: str) -> None:
    """Forget the days before `oldest`."""
    connection.execute(delete(_TABLE).where(_TABLE.c.day < oldest))


def _seconds_of(connection: Connection, venue: str, day: str) -> dict[tuple[str, int], Seconds]:
    rows = connection.execute(
        select(_TABLE.c.supply, _TABLE.c.rated_ma, _TABLE.c.seconds).where(_TABLE.c.venue == venue, _TABLE.c.day == day)
    )
    return {(row.supply, row.rated_ma): _read(row.seconds) for row in rows}


def _upsert(connection: Connection, rows: list[dict[str, object]]) -> None:
    insert = (postgresql if connection.dialect.name == "postgresql" else sqlite).insert(_TABLE)
    higher = func.greatest if connection.dialect.name == "postgresql" else func.max
    statement = insert.on_conflict_do_update(
        index_elements=["venue", "supply", "day", "rated_ma"],
        set_={
            "seconds": insert.excluded.seconds,
            "highest_a": higher(_TABLE.c.highest_a, insert.excluded.highest_a),
        },
    )
    connection.execute(statement, rows)


def _read(stored: bytes) -> Seconds:
    return np.frombuffer(stored, _STORED, BINS + 1).astype(np.float64)
