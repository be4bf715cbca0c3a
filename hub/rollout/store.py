"""Rollouts and snapshots in the database. Every call is one short transaction."""

import contextlib

from sqlalchemy import ColumnElement, Engine, delete
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from hub.errors import NotFoundError
from hub.rollout.models import Rollout, RolloutState, VenueSnapshot
from hub.rollout.snapshot import Snapshot

KEPT_ROLLOUTS = 50


class RolloutStore:
    """Rows handed out are detached: change them and `save` them."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def save(self, row: Rollout) -> None:
        """Insert or update."""
        with Session(self._engine, expire_on_commit=False) as session:
            session.merge(row)
            session.commit()

    def newest(self, venue: str) -> Rollout | None:
        return self._first(col(Rollout.venue) == venue)

    def newest_taken(self, venue: str, below: int | None = None) -> Rollout | None:
        """The revision in force, or the one taken before revision `below`."""
        taken = (col(Rollout.venue) == venue) & (col(Rollout.state) == RolloutState.TAKEN)
        return self._first(taken if below is None else taken & (col(Rollout.revision) < below))

    def rollout(self, venue: str, revision: int) -> Rollout:
        with Session(self._engine, expire_on_commit=False) as session:
            row = session.get(Rollout, (venue, revision))
        if row is None:
            raise NotFoundError("rollout", str(revision))
        return row

    def page(self, venue: str, below: int | None, limit: int) -> list[Rollout]:
        """Up to `limit` rollouts, newest first, those below revision `below` where one is given."""
        wanted = select(Rollout).where(Rollout.venue == venue).order_by(col(Rollout.revision).desc()).limit(limit)
        if below is not None:
            wanted = wanted.where(col(Rollout.revision) < below)
        with Session(self._engine, expire_on_commit=False) as session:
            return list(session.exec(wanted))

    def knows_snapshot(self, venue: str, sha256: str) -> bool:
        """Whether any rollout of the venue was made from this snapshot."""
        return self._first((col(Rollout.venue) == venue) & (col(Rollout.snapshot_sha256) == sha256)) is not None

    def keep_snapshot(self, sha256: str, document: str) -> None:
        with Session(self._engine) as session:
            if session.get(VenueSnapshot, sha256) is not None:
                return
            session.add(VenueSnapshot(sha256=sha256, document=document))
            with contextlib.suppress(IntegrityError):  # another thread kept the same in between
                session.commit()

    def snapshot(self, sha256: str) -> Snapshot:
        with Session(self._engine) as session:
            row = session.get(VenueSnapshot, sha256)
        if row is None:
            raise NotFoundError("venue snapshot", sha256[:12])
        return Snapshot.model_validate_json(row.document)

    def prune(self, venue: str) -> None:
        """Drop rollouts beyond the newest `KEPT_ROLLOUTS`, but never the two last taken; then unused snapshots."""
        in_force = self.newest_taken(venue)
        before = None if in_force is None else self.newest_taken(venue, in_force.revision)
        spared = [row.revision for row in (in_force, before) if row is not None]
        oldest_kept = self.page(venue, None, KEPT_ROLLOUTS)[-1:]
        if not oldest_kept:
            return
        with Session(self._engine) as session:
            old = (col(Rollout.venue) == venue) & (col(Rollout.revision) < oldest_kept[0].revision)
            session.execute(delete(Rollout).where(old, col(Rollout.revision).not_in(spared)))
            unused = col(VenueSnapshot.sha256).not_in(select(Rollout.snapshot_sha256))
            session.execute(delete(VenueSnapshot).where(unused))
            session.commit()

    def _first(self, condition: ColumnElement[bool]) -> Rollout | None:
        with Session(self._engine, expire_on_commit=False) as session:
            return session.exec(
                select(Rollout).where(condition).order_by(col(Rollout.revision).desc()).limit(1)
            ).first()
