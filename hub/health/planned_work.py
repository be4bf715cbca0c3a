"""Planned work: while it lasts, findings of its nodes, zones and kinds are told to nobody."""

import json
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Engine, delete
from sqlmodel import Session, col, select

from hub.health.kinds import FindingKind
from hub.health.models import Mute

MAX_NOT_OVER: Final = 200
"""Of one venue at a time."""


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of planned work; empty sets are all."""

    id: int
    venue: str
    nodes: frozenset[str]
    zones: frozenset[str]
    kinds: frozenset[FindingKind]
    from_ms: int
    until_ms: int
    reason: str
    made_by: str | None

    def covers(
        self, venue: str, kind: FindingKind, nodes: Collection[str], nodes_of_zone: Mapping[str, frozenset[str]]
    ) -> bool:
        """Whether it covers a finding about all of these nodes; one about none is covered by work everywhere only."""
        if venue != self.venue or (self.kinds and kind not in self.kinds):
            return False
        if not self.nodes and not self.zones:
            return True
        covered = self.nodes.union(*(nodes_of_zone.get(zone, frozenset()) for zone in self.zones))
        return bool(nodes) and covered.issuperset(nodes)


def work_of(mute: Mute) -> Work:
    return Work(
        id=mute.id or 0,
        venue=mute.venue,
        nodes=frozenset(json.loads(mute.nodes)),
        zones=frozenset(json.loads(mute.zones)),
        kinds=frozenset(FindingKind(kind) for kind in json.loads(mute.kinds)),
        from_ms=mute.from_ms,
        until_ms=mute.until_ms,
        reason=mute.reason,
        made_by=mute.made_by,
    )


class WorkTable:
    """Planned work in the database: what is to come, what goes on, what is over."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def not_over(self, now_ms: int) -> list[Mute]:
        with Session(self._engine, expire_on_commit=False) as session:
            query = select(Mute).where(col(Mute.lifted_at_ms).is_(None), Mute.until_ms > now_ms)
            return list(session.exec(query.order_by(col(Mute.id))))

    def listed(self, venue: str, now_ms: int, *, over: bool, after_id: int | None, limit: int) -> list[Mute]:
        """At most `limit`, newest first; those that are over only where they are asked for."""
        query = select(Mute).where(Mute.venue == venue)
        if not over:
            query = query.where(col(Mute.lifted_at_ms).is_(None), Mute.until_ms > now_ms)
        if after_id is not None:
            query = query.where(col(Mute.id) < after_id)
        with Session(self._engine, expire_on_commit=False) as session:
            return list(session.exec(query.order_by(col(Mute.id).desc()).limit(limit)))

    def get(self, venue: str, mute_id: int) -> Mute | None:
        with Session(self._engine, expire_on_commit=False) as session:
            mute = session.get(Mute, mute_id)
            return mute if mute is not None and mute.venue == venue else None

    def forget(self, over_before_ms: int) -> None:
        with self._engine.begin() as connection:
            connection.execute(delete(Mute).where(col(Mute.until_ms) < over_before_ms))

    def add(self, mute: Mute) -> Mute:
        """Stored, with its id."""
        with Session(self._engine, expire_on_commit=False) as session:
            session.add(mute)
            session.commit()
            return mute

    def lift(self, mute_id: int, now_ms: int, by: str | None) -> Mute | None:
        with Session(self._engine, expire_on_commit=False) as session:
            mute = session.get(Mute, mute_id)
            if mute is not None:
                mute.lifted_at_ms, mute.lifted_by = now_ms, by
                session.commit()
            return mute


class PlannedWork:
    """What is not over yet; the fleet loop's thread's."""

    def __init__(self, works: Iterable[Work] = ()) -> None:
        self._works = {work.id: work for work in works}

    def add(self, work: Work) -> None:
        self._works[work.id] = work

    def count(self, venue: str) -> int:
        return sum(work.venue == venue for work in self._works.values())

    def lift(self, mute_id: int) -> None:
        self._works.pop(mute_id, None)

    def going_on(self, now_ms: int) -> list[Work]:
        """The work of this moment, the oldest first. What is over is let go of."""
        for mute_id in [mute_id for mute_id, work in self._works.items() if work.until_ms <= now_ms]:
            del self._works[mute_id]
        return [work for work in self._works.values() if work.from_ms <= now_ms]
