"""Changes of findings become notices, each exactly once: the cursor moves in the transaction that makes them."""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import Final, Protocol

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from hub.errors import NotFoundError
from hub.health.kinds import Change
from hub.health.models import Finding, FindingChange
from hub.notify.destination import Told
from hub.notify.models import Cursor, Destination, Notice, waiting_notice
from hub.notify.notice import About, NoticeState
from hub.notify.routing import VenuePlan, due_at_ms, plan_of, zones_about
from hub.notify.view import ROUTES
from hub.notify.words import Teller, ended_message, opened_message
from hub.rollout import VenueSource
from schemas import Venue

CHANGES_AT_ONCE: Final = 200
OPENING: Final = frozenset({Change.OPENED, Change.REOPENED, Change.UNFOLDED, Change.UNMUTED})


class Changed(Protocol):
    """A change, and its finding as it is now."""

    @property
    def change(self) -> FindingChange: ...

    @property
    def finding(self) -> Finding: ...


class ChangeSource(Protocol):
    """Where changes of findings come from, in the order of their ids."""

    def changed_after(self, cursor: int, limit: int) -> Sequence[Changed]: ...


@dataclass(frozen=True, slots=True)
class Settling:
    """How long a change rests before anybody is told, so that what comes and goes is not."""

    opened_ms: int = 10_000
    """By then what shares a cause is folded."""
    ended_ms: int = 610_000
    """Beyond the ten minutes in which what comes back is the same finding: its end is told once, when it is final."""


class NoticeMaker:
    """Two readers of the same changes: one for what opens, one, later, for what ends. From one thread."""

    def __init__(
        self, engine: Engine, changes: ChangeSource, inventory: VenueSource, settling: Settling | None = None
    ) -> None:
        self._engine = engine
        self._changes = changes
        self._inventory = inventory
        self._settling = settling or Settling()
        self._plans: dict[str, tuple[Venue, VenuePlan]] = {}
        self._resting: dict[About, range] = {}
        self.page: str | None = None

    def make(self, now_ms: int) -> bool:
        """Notices of what settled. Whether there may be more at once."""
        more = self._read(About.OPENED, self._settling.opened_ms, now_ms)
        return self._read(About.ENDED, self._settling.ended_ms, now_ms) or more

    def plan(self, venue: str) -> VenuePlan:
        """Raises NotFoundError."""
        present = self._inventory.venue(venue)
        known = self._plans.get(venue)
        if known is None or known[0] is not present:
            known = self._plans[venue] = (present, plan_of(present))
        return known[1]

    def teller(self, venue: str) -> Teller:
        """Raises NotFoundError."""
        plan = self.plan(venue)
        return Teller(venue, plan.title, plan.time_zone, self.page)

    def _read(self, reader: About, settling_ms: int, now_ms: int) -> bool:
        if now_ms in self._resting.get(reader, ()):
            return False
        with Session(self._engine, expire_on_commit=False) as session:
            cursor = session.get(Cursor, reader, with_for_update=True)
            if cursor is None:
                cursor = Cursor(reader=reader, change=0)
                session.add(cursor)
            found = self._changes.changed_after(cursor.change, CHANGES_AT_ONCE)
            settled = list(takewhile(lambda one: not now_ms - settling_ms < one.change.at_ms <= now_ms, found))
            if not settled:
                # What is first has not settled, so nothing after it is told before.
                self._resting[reader] = range(now_ms, found[0].change.at_ms + settling_ms if found else now_ms)
                return False
            findings = {one.finding.id or 0: one.finding for one in settled if _concerns(reader, one)}
            for venue in dict.fromkeys(finding.venue for finding in findings.values()):
                of_venue = [finding for finding in findings.values() if finding.venue == venue]
                self._tell(session, reader, venue, of_venue, now_ms)
            cursor.change = settled[-1].change.id or 0
            session.commit()
        return len(settled) == CHANGES_AT_ONCE

    def _tell(self, session: Session, reader: About, venue: str, findings: Sequence[Finding], now_ms: int) -> None:
        destinations = session.exec(select(Destination).where(Destination.venue == venue)).all()
        told_ones = [(row, ROUTES.validate_json(row.routes)) for row in destinations]
        if not told_ones:
            return
        try:
            plan, teller = self.plan(venue), self.teller(venue)
        except NotFoundError:
            return  # nobody looks after it any more
        ids = [finding.id or 0 for finding in findings]
        made = {
            (row.destination, row.about, row.finding): row
            for row in session.exec(select(Notice).where(col(Notice.finding).in_(ids)))
        }
        members: dict[int, list[Finding]] = {}
        for member in session.exec(select(Finding).where(col(Finding.folded_into).in_(ids))):
            members.setdefault(member.folded_into or 0, []).append(member)
        told = Told(reader)
        words = opened_message if told is Told.OPENED else ended_message
        with session.no_autoflush:  # the database is not held while words are made
            for finding in findings:
                own = members.get(finding.id or 0, [])
                zones = zones_about(finding, (member.node for member in own if member.node), plan)
                for destination, routes in told_ones:
                    opened = made.get((destination.id, About.OPENED, finding.id))
                    present = made.get((destination.id, reader, finding.id))
                    if told is Told.ENDED and not _was_told(opened, now_ms):
                        continue
                    if present is not None and present.state != NoticeState.WITHDRAWN:
                        continue
                    due_ms = due_at_ms(routes, told, finding.severity, zones, plan, now_ms)
                    if due_ms is None:
                        continue
                    message = words(secrets.token_hex(16), finding, own, teller, now_ms)
                    row_id = None if present is None else present.id
                    session.merge(
                        waiting_notice(venue, destination.id, reader, message, now_ms, due_ms, finding.id, row_id)
                    )


def _concerns(reader: About, one: Changed) -> bool:
    finding = one.finding
    if reader is About.OPENED:
        return one.change.change in OPENING and may_be_told(finding)
    # Its last end: what came back since, and ended again, has another that is not settled yet.
    return one.change.change is Change.ENDED and finding.ended_at_ms == one.change.at_ms


def may_be_told(finding: Finding) -> bool:
    """Whether somebody is to be told that it opened: as it is now, it is open, stands for itself, and nobody has it in
    hand or is at work there."""
    return (
        finding.ended_at_ms is None
        and finding.folded_into is None
        and finding.muted_by is None
        and finding.acknowledged_at_ms is None
    )


def _was_told(opened: Notice | None, now_ms: int) -> bool:
    """Whether a destination was told of the beginning, or may have been. One that was not never will be."""
    if opened is None:
        return False
    if opened.state == NoticeState.WAITING and opened.attempts == 0:
        opened.state, opened.settled_at_ms = NoticeState.WITHDRAWN, now_ms
    return opened.state in (NoticeState.WAITING, NoticeState.DELIVERED)
