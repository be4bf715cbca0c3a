"""Rollouts and snapshots in the database. Every call is one short transaction."""

import contextlib

from sqlalchemy import ColumnElement, Engine, delete
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from hub.errors import NotFoundError
from hub.rollout.models import UNDER_WAY, Rollout, RolloutState, VenueSnapshot
from hub.rollout.snapshot import Snapshot

KEPT_ROLLOUTS = 50


class RolloutStore:
    """Rows handed out are detached: change them and `save` them."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def save(self, *rows: Rollout, instead_of: Rollout | None = None) -> None:
        """Insert or update them, all or none; `instead_of` is a row that goes."""
        with Session(self._engine, expire_on_commit=False) as session:
            for row in rows:
                session.merge(row)
            if instead_of is not None:
                gone = (col(Rollout.venue) == instead_of.venue) & (col(Rollout.revision) == instead_of.revision)
                session.execute(delete(Rollout).where(gone))
            session.commit()

    def newest(self, venue: str) -> Rollout | None:
        return self._first(col(Rollout.venue) == venue)

    def newest_begun(self, venue: str) -> Rollout | None:
        """The newest that was begun: not one that still waits for its turn."""
        return self._first((col(Rollout.venue) == venue) & (col(Rollout.state) != RolloutState.PLANNED))

    def part_taken(self, venue: str, above: int) -> Rollout | None:
        """The newest above a revision of which some batches were taken and which is not the venue's."""
        part = (*UNDER_WAY, RolloutState.HALTED)
        return self._first(
            (col(Rollout.venue) == venue)
            & (col(Rollout.revision) > above)
            & col(Rollout.state).in_(part)
            & (col(Rollout.takes_ms) != "[]")
        )

    def planned(self, venue: str) -> list[Rollout]:
        """Those that wait, in their order."""
        wanted = select(Rollout).where(Rollout.venue == venue, Rollout.state == RolloutState.PLANNED)
        with Session(self._engine, expire_on_commit=False) as session:
            return list(session.exec(wanted.order_by(col(Rollout.revision))))

    def newest_taken(self, venue: str, below: int | None = None) -> Rollout | None:
        """The revision in force, or the one taken before revision `below`."""
        taken = (col(Rollout.venue) == venue) & (col(Rollout.state) == RolloutState.TAKEN)
        return self._first(taken if below is None else taken & (col(Rollout.revision) < below))

    def rollout(self, venue: str, revision: int) -> Rollout:
        """By its revision, or the one under which it was planned. Raises NotFoundError."""
        row = self.found(venue, revision)
        row = row or self._first((col(Rollout.venue) == venue) & (col(Rollout.planned_as) == revision))
        if row is None:
            raise NotFoundError("rollout", str(revision))
        return row

    def found(self, venue: str, revision: int) -> Rollout | None:
        """By its revision; None for one that never was, or was pruned."""
        with Session(self._engine, expire_on_commit=False) as session:
            return session.get(Rollout, (venue, revision))

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
        """Drop rollouts beyond the newest `KEPT_ROLLOUTS`, then unused snapshots.

        Never the two last taken, what `back` would take, and whatever is not over.
        """
        in_force = self.newest_taken(venue)
        before = None if in_force is None else self.newest_taken(venue, in_force.revision)
        spared = [row.revision for row in (in_force, before) if row is not None]
        if in_force is not None and in_force.back_to:
            spared.append(in_force.back_to)
        oldest_kept = self.page(venue, None, KEPT_ROLLOUTS)[-1:]
        if not oldest_kept:
            return
        with Session(self._engine) as session:
            old = (col(Rollout.venue) == venue) & (col(Rollout.revision) < oldest_kept[0].revision)
            old &= col(Rollout.state).not_in((RolloutState.PLANNED, *UNDER_WAY))
            session.execute(delete(Rollout).where(old, col(Rollout.revision).not_in(spared)))
            unused = col(VenueSnapshot.sha256).not_in(select(Rollout.snapshot_sha256))
            session.execute(delete(VenueSnapshot).where(unused))
            session.commit()

    def _first(self, condition: ColumnElement[bool]) -> Rollout | None:
        with Session(self._engine, expire_on_commit=False) as session:
            return session.exec(
                select(Rollout).where(condition).order_by(col(Rollout.revision).desc()).limit(1)
            ).first()
