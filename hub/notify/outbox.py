"""Destinations and notices in the database. Every call is one short transaction."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

from sqlalchemy import Engine, case, delete, func
from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from hub.errors import ConflictError, NotFoundError
from hub.health.models import Finding
from hub.notify.back_off import GIVEN_UP_AFTER_MS, back_off_ms
from hub.notify.making import may_be_told
from hub.notify.models import MAX_ERROR, Destination, Notice, waiting_notice
from hub.notify.notice import About, Delivered, Message, NoticeState, Outcome

DAY_MS: Final = 86_400_000
SETTLED_KEPT_MS: Final = 30 * DAY_MS
DEAD_KEPT_MS: Final = 90 * DAY_MS
MOST_PURGED: Final = 500
"""At a time, so that nobody waits for it."""

DestinationKey = tuple[str, str]  # venue, destination


class Outbox:
    """The destinations and notices of all venues."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    @contextmanager
    def transaction(self) -> Iterator[Session]:
        with Session(self._engine, expire_on_commit=False) as session:
            yield session
            session.commit()

    def destinations(self, venue: str | None = None) -> list[Destination]:
        """Of one venue or of all, in the order of their ids."""
        wanted = select(Destination).order_by(col(Destination.venue), col(Destination.id))
        if venue is not None:
            wanted = wanted.where(Destination.venue == venue)
        with self.transaction() as session:
            return list(session.exec(wanted))

    def destination(self, venue: str, destination: str) -> Destination:
        """Raises NotFoundError."""
        with self.transaction() as session:
            return _existing(session, venue, destination)

    def add(self, destination: Destination) -> None:
        """Raises IntegrityError where its id is taken."""
        with self.transaction() as session:
            session.add(destination)

    def rewrite(self, venue: str, destination: str, change: Callable[[Destination], None]) -> Destination:
        """Changed in one transaction; unchanged where `change` raises. Raises NotFoundError."""
        with self.transaction() as session:
            row = _existing(session, venue, destination)
            change(row)
            return row

    def remove(self, venue: str, destination: str) -> None:
        """With its notices. Raises NotFoundError."""
        with self.transaction() as session:
            session.delete(_existing(session, venue, destination))
            session.execute(delete(Notice).where(col(Notice.venue) == venue, col(Notice.destination) == destination))

    def counts(self, venue: str) -> dict[str, tuple[int, int]]:
        """Notices that wait and that are dead, by destination."""
        state = col(Notice.state)
        wanted = (
            select(
                Notice.destination,
                func.sum(case((state == NoticeState.WAITING, 1), else_=0)),
                func.sum(case((state == NoticeState.DEAD, 1), else_=0)),
            )
            .where(Notice.venue == venue, state.in_([NoticeState.WAITING, NoticeState.DEAD]))
            .group_by(col(Notice.destination))
        )
        with self.transaction() as session:
            return {destination: (int(waiting), int(dead)) for destination, waiting, dead in session.exec(wanted)}

    def notices(
        self, venue: str, state: NoticeState | None, destination: str | None, after_id: int | None, limit: int
    ) -> list[Notice]:
        """At most `limit`, newest first, older than `after_id` where it is given."""
        wanted = select(Notice).where(Notice.venue == venue)
        if state is not None:
            wanted = wanted.where(Notice.state == state)
        if destination is not None:
            wanted = wanted.where(Notice.destination == destination)
        if after_id is not None:
            wanted = wanted.where(col(Notice.id) < after_id)
        with self.transaction() as session:
            return list(session.exec(wanted.order_by(col(Notice.id).desc()).limit(limit)))

    def first_due(self, now_ms: int) -> list[Notice]:
        """What each destination is to be told next: its oldest notice that is due.

        The end of a finding waits for its beginning, whose next attempt may be later. What is no longer true is
        withdrawn, and what comes after it is due at the next call.
        """
        earlier = aliased(Notice)
        held_back = (
            select(col(earlier.id))
            .where(
                col(earlier.venue) == col(Notice.venue),
                col(earlier.destination) == col(Notice.destination),
                col(earlier.finding) == col(Notice.finding),
                col(earlier.state) == NoticeState.WAITING,
                col(earlier.id) < col(Notice.id),
            )
            .exists()
        )
        due = (
            select(func.min(col(Notice.id)))
            .where(Notice.state == NoticeState.WAITING, col(Notice.due_at_ms) <= now_ms, ~held_back)
            .group_by(col(Notice.venue), col(Notice.destination))
        )
        with self.transaction() as session:
            rows = list(session.exec(select(Notice).where(col(Notice.id).in_(due)).order_by(col(Notice.id))))
            untrue = [row for row in rows if not _still_true(session, row)]
            for row in untrue:
                row.state, row.settled_at_ms = NoticeState.WITHDRAWN, now_ms
            return [row for row in rows if row not in untrue]

    def settle(self, notice: int, outcome: Outcome, now_ms: int) -> Notice | None:
        """Keep how an attempt went; None where the notice went while it was tried."""
        with self.transaction() as session:
            row = session.get(Notice, notice)
            if row is None:
                return None
            destination = session.get(Destination, (row.venue, row.destination))
            row.attempts += 1
            row.tried_at_ms = row.tried_at_ms or now_ms
            if isinstance(outcome, Delivered):
                row.state, row.last_error, row.settled_at_ms = NoticeState.DELIVERED, None, now_ms
            elif row.state == NoticeState.WAITING:
                row.last_error = outcome.reason[:MAX_ERROR]
                if outcome.lasting or now_ms - row.tried_at_ms >= GIVEN_UP_AFTER_MS:
                    row.state, row.settled_at_ms = NoticeState.DEAD, now_ms
                else:
                    row.due_at_ms = now_ms + back_off_ms(row.attempts)
            if destination is not None:
                _keep_outcome(destination, outcome, now_ms)
            return row

    def settle_apart(self, destination: DestinationKey, outcome: Outcome, now_ms: int) -> None:
        """Keep how it went where no notice was sent: a heartbeat, a test message."""
        with self.transaction() as session:
            row = session.get(Destination, destination)
            if row is not None:
                _keep_outcome(row, outcome, now_ms)

    def add_digest(self, destination: Destination, day: str, message: Message, now_ms: int) -> None:
        """A digest of the local day, and that it was made; nothing where it was made already, or nobody wants it."""
        with self.transaction() as session:
            row = session.get(Destination, (destination.venue, destination.id), with_for_update=True)
            if row is None or (row.digested_day is not None and row.digested_day >= day):
                return
            row.digested_day = day
            session.add(waiting_notice(row.venue, row.id, About.DIGEST, message, now_ms, now_ms))

    def resend(self, venue: str, notice: int, now_ms: int) -> Notice:
        """Due at once, as if it had never been tried. Raises NotFoundError, ConflictError."""
        with self.transaction() as session:
            row = _unsettled(session, venue, notice)
            row.state, row.due_at_ms, row.settled_at_ms = NoticeState.WAITING, now_ms, None
            row.attempts, row.tried_at_ms = 0, None
            return row

    def drop(self, venue: str, notice: int, now_ms: int) -> None:
        """Raises NotFoundError, ConflictError."""
        with self.transaction() as session:
            row = _unsettled(session, venue, notice)
            row.state, row.settled_at_ms = NoticeState.DROPPED, now_ms

    def purge(self, now_ms: int) -> None:
        """Forget some of what was settled long ago."""
        state, settled = col(Notice.state), col(Notice.settled_at_ms)
        old = (
            select(Notice.id)
            .where(settled < now_ms - SETTLED_KEPT_MS, (state != NoticeState.DEAD) | (settled < now_ms - DEAD_KEPT_MS))
            .limit(MOST_PURGED)
        )
        with self.transaction() as session:
            session.execute(delete(Notice).where(col(Notice.id).in_(list(session.exec(old)))))


def _still_true(session: Session, notice: Notice) -> bool:
    """What waited for its hours may be over by then; an end is told to whoever was told of the beginning."""
    if notice.finding is None or notice.attempts > 0:
        return True
    if notice.about == About.OPENED:
        finding = session.get(Finding, notice.finding)
        return finding is not None and may_be_told(finding)
    same = (Notice.venue == notice.venue, Notice.destination == notice.destination, Notice.finding == notice.finding)
    opened = session.exec(select(Notice).where(*same, Notice.about == About.OPENED)).first()
    return opened is not None and opened.state == NoticeState.DELIVERED


def _existing(session: Session, venue: str, destination: str) -> Destination:
    row = session.get(Destination, (venue, destination))
    if row is None:
        raise NotFoundError("destination", destination)
    return row


def _unsettled(session: Session, venue: str, notice: int) -> Notice:
    row = session.get(Notice, notice)
    if row is None or row.venue != venue:
        raise NotFoundError("notice", str(notice))
    if row.state not in (NoticeState.WAITING, NoticeState.DEAD):
        raise ConflictError(f"the notice is {row.state}; only what waits or was given up can be sent again or dropped")
    return row


def _keep_outcome(destination: Destination, outcome: Outcome, now_ms: int) -> None:
    if isinstance(outcome, Delivered):
        destination.delivered_at_ms, destination.last_error = now_ms, None
    else:
        destination.failed_at_ms, destination.last_error = now_ms, outcome.reason[:MAX_ERROR]
