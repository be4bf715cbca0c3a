"""Planned work: while it lasts, findings of its nodes, zones and kinds are told to nobody."""

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Engine, delete, update
from sqlmodel import Session, col, select

from hub.errors import ConflictError, NotFoundError
from hub.health.kinds import FindingKind
from hub.health.models import Mute
from hub.health.mute_view import MuteRequest, MuteView, mute_view_of
from schemas import Venue

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

    def lift(self, mute_id: int, now_ms: int, by: str | None) -> None:
        lifted = update(Mute).where(col(Mute.id) == mute_id).values(lifted_at_ms=now_ms, lifted_by=by)
        with self._engine.begin() as connection:
            connection.execute(lifted)


class PlannedWork:
    """What is not over yet; the fleet loop's thread's, but for `mutes`."""

    def __init__(self, engine: Engine) -> None:
        self._table = WorkTable(engine)
        self._works: dict[int, Work] = {}

    def adopt(self, now_ms: int) -> None:
        """Take in what an earlier run of the hub left."""
        self._works = {work.id: work for work in map(work_of, self._table.not_over(now_ms))}

    def mutes(self, venue: str, now_ms: int, after_id: int | None, limit: int, *, over: bool) -> list[MuteView]:
        """At most `limit`, newest first; those that are over only where they are asked for."""
        found = self._table.listed(venue, now_ms, over=over, after_id=after_id, limit=limit)
        return [mute_view_of(mute) for mute in found]

    def plan(self, venue: Venue, wanted: MuteRequest, by: str | None, now_ms: int) -> MuteView:
        """Raises InvalidError, ConflictError."""
        wanted.check(venue, now_ms)
        self.going_on(now_ms)
        if sum(work.venue == venue.id for work in self._works.values()) >= MAX_NOT_OVER:
            raise ConflictError(f"the venue has {MAX_NOT_OVER} mutes that are not over; lift some")
        mute = self._table.add(
            Mute(
                venue=venue.id,
                nodes=json.dumps(sorted(set(wanted.nodes))),
                zones=json.dumps(sorted(set(wanted.zones))),
                kinds=json.dumps(sorted({kind.value for kind in wanted.kinds})),
                from_ms=now_ms if wanted.from_ms is None else wanted.from_ms,
                until_ms=wanted.until_ms,
                reason=wanted.reason,
                made_at_ms=now_ms,
                made_by=by,
            )
        )
        self._works[mute.id or 0] = work_of(mute)
        return mute_view_of(mute)

    def lift(self, venue: str, mute_id: int, by: str | None, now_ms: int) -> None:
        """Raises NotFoundError; ConflictError where it is over already."""
        mute = self._table.get(venue, mute_id)
        if mute is None:
            raise NotFoundError("mute", str(mute_id))
        if mute.lifted_at_ms is not None or mute.until_ms <= now_ms:
            raise ConflictError("the planned work is over already")
        self._table.lift(mute_id, now_ms, by)
        self._works.pop(mute_id, None)

    def going_on(self, now_ms: int) -> list[Work]:
        """The work of this moment, the oldest first. What is over is let go of."""
        for mute_id in [mute_id for mute_id, work in self._works.items() if work.until_ms <= now_ms]:
            del self._works[mute_id]
        return [work for work in self._works.values() if work.from_ms <= now_ms]

    def forget(self, over_before_ms: int) -> None:
        self._table.forget(over_before_ms)
