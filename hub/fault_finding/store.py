"""Searches for faults in the database. Every call is one short transaction."""

from typing import Final

from sqlalchemy import Engine, delete, update
from sqlmodel import Session, col, select

from hub.errors import ConflictError, NotFoundError
from hub.fault_finding.models import FaultFinding

KEPT: Final = 200
"""Of a venue; older ones go when another begins."""


class FaultFindingStore:
    """Rows handed out are detached: change them and `save` them."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def add(self, row: FaultFinding) -> FaultFinding:
        """Store a new one; its id is set. The oldest beyond `KEPT` go in the same transaction."""
        with Session(self._engine, expire_on_commit=False) as session:
            session.add(row)
            session.flush()
            newest = select(FaultFinding.id).where(FaultFinding.venue == row.venue)
            kept = newest.order_by(col(FaultFinding.id).desc()).limit(KEPT).subquery()
            old = (col(FaultFinding.venue) == row.venue) & col(FaultFinding.id).not_in(select(kept.c.id))
            session.execute(delete(FaultFinding).where(old))
            session.commit()
        return row

    def save(self, row: FaultFinding) -> None:
        """Raises ConflictError where somebody changed it since it was read."""
        fields = row.model_dump(exclude={"id", "changes"}) | {"changes": row.changes + 1}
        same = (col(FaultFinding.id) == row.id) & (col(FaultFinding.changes) == row.changes)
        with self._engine.begin() as connection:
            changed = connection.execute(update(FaultFinding).where(same).values(**fields)).rowcount
        if not changed:
            raise ConflictError("somebody else went on with this search in the meantime; look again where it stands")
        row.changes += 1

    def one(self, venue: str, number: int) -> FaultFinding:
        """Raises NotFoundError."""
        with Session(self._engine, expire_on_commit=False) as session:
            row = session.get(FaultFinding, number)
        if row is None or row.venue != venue:
            raise NotFoundError("fault finding", str(number))
        return row

    def listed(
        self, venue: str, node: str | None, ended: bool | None, after: int | None, limit: int
    ) -> list[FaultFinding]:
        """At most `limit`, newest first, older than `after` where it is given."""
        wanted = select(FaultFinding).where(FaultFinding.venue == venue)
        if node is not None:
            wanted = wanted.where(FaultFinding.node == node)
        if ended is not None:
            at_ms = col(FaultFinding.ended_at_ms)
            wanted = wanted.where(at_ms.is_not(None) if ended else at_ms.is_(None))
        if after is not None:
            wanted = wanted.where(col(FaultFinding.id) < after)
        with Session(self._engine, expire_on_commit=False) as session:
            return list(session.exec(wanted.order_by(col(FaultFinding.id).desc()).limit(limit)))
