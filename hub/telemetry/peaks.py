"""The highest amps of each supply, node and day: kept in memory as deltas, merged into the table."""

from collections.abc import Mapping
from datetime import UTC, datetime

from sqlalchemy import Connection, case, func, select
from sqlalchemy.dialects import postgresql, sqlite

from hub.telemetry.models import SupplyPeak
from schemas import Telemetry

_TABLE = SupplyPeak.__table__  # type: ignore[attr-defined]
PeakKey = tuple[str, str, str, str]


class PeakTracker:
    """Remembers the peaks it has seen, so that only a new one costs a row. Forgets days that are over."""

    def __init__(self) -> None:
        self._seen: dict[PeakKey, float] = {}
        self._day = ""
        self._day_ends_s = 0.0

    def observe(self, venue: str, node: str, telemetry: Telemetry, now_s: float, raised: dict[PeakKey, float]) -> None:
        """Put what is higher than before into `raised`, by venue, supply, node and day."""
        if now_s >= self._day_ends_s:
            self._begin_day(now_s)
        for supply in telemetry.supplies:
            key = (venue, supply.supply, node, self._day)
            if supply.highest_a > self._seen.get(key, -1.0):
                self._seen[key] = supply.highest_a
                raised[key] = supply.highest_a

    def _begin_day(self, now_s: float) -> None:
        self._seen.clear()
        self._day = datetime.fromtimestamp(now_s, UTC).strftime("%Y-%m-%d")
        self._day_ends_s = (now_s // 86_400 + 1) * 86_400


def merge_peaks(connection: Connection, raised: Mapping[PeakKey, float]) -> None:
    """Write peaks; one that the table has already, from before a restart, is only ever raised."""
    if not raised:
        return
    insert = (postgresql if connection.dialect.name == "postgresql" else sqlite).insert(_TABLE)
    higher = case((insert.excluded.highest_a > _TABLE.c.highest_a, insert.excluded.highest_a), else_=_TABLE.c.highest_a)
    statement = insert.on_conflict_do_update(
        index_elements=["venue", "supply", "node", "day"], set_={"highest_a": higher}
    )
    rows = [
        {"venue": venue, "supply": supply, "node": node, "day": day, "highest_a": amps}
        for (venue, supply, node, day), amps in raised.items()
    ]
    connection.execute(statement, rows)


def highest_by_supply(connection: Connection, venue: str) -> dict[str, float]:
    """For each supply the highest day's sum of its nodes' peaks, amps.

    Nodes need not have peaked at the same instant: with several nodes on a supply it is an upper bound.
    """
    by_day = (
        select(_TABLE.c.supply, func.sum(_TABLE.c.highest_a).label("amps"))
        .where(_TABLE.c.venue == venue)
        .group_by(_TABLE.c.supply, _TABLE.c.day)
        .subquery()
    )
    rows = connection.execute(select(by_day.c.supply, func.max(by_day.c.amps)).group_by(by_day.c.supply))
    return {supply: float(amps) for supply, amps in rows}
