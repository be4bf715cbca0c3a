"""Findings in the database: changed in one transaction, read back after a restart, listed in pages, forgotten."""

import json
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Engine, and_, delete, func, or_
from sqlmodel import Session, col, select
from sqlmodel.sql.expression import SelectOfScalar

from hub.health.kinds import Change, FindingKind, FindingState, Severity
from hub.health.ledger import ROWS_AT_ONCE, Ledger
from hub.health.models import Finding, FindingChange
from hub.health.rule import Fault, Rule, Subject

MAX_WORDS: Final = 400
MAX_SUBJECT: Final = 80
MAX_CHANGES_SHOWN: Final = 500
_OPENINGS: Final = (Change.OPENED, Change.REOPENED)


@dataclass(frozen=True, slots=True)
class FindingFilter:
    """Which findings are wanted; None does not restrict. `folded`: those that another stands for, too."""

    open: bool | None = None
    kind: FindingKind | None = None
    node: str | None = None
    severity: Severity | None = None
    state: FindingState | None = None
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Told:
    """A change, and its finding as it is now."""

    change: FindingChange
    finding: Finding


class FindingTable:
    """The findings of all venues. What is read is no longer tied to the database."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    @contextmanager
    def ledger(self, now_ms: int) -> Iterator[Ledger]:
        """A transaction: kept as the block ends, or nothing of it where it raises."""
        with self._session() as session:
            ledger = Ledger(session, now_ms)
            yield ledger
            ledger.close()
            session.commit()

    def get(self, venue: str, finding_id: int) -> Finding | None:
        with self._session() as session:
            finding = session.get(Finding, finding_id)
            return finding if finding is not None and finding.venue == venue else None

    def open_or_ended_since(self, since_ms: int) -> list[Finding]:
        """Everything that has not ended, or did so at or after `since_ms`; oldest first."""
        ended = col(Finding.ended_at_ms)
        with self._session() as session:
            query = select(Finding).where(or_(ended.is_(None), ended >= since_ms)).order_by(col(Finding.id))
            return list(session.exec(query))

    def listed(self, venue: str, wanted: FindingFilter, after_id: int | None, limit: int) -> list[Finding]:
        """At most `limit` findings, newest first, older than `after_id` where it is given."""
        query = _filtered(select(Finding).where(Finding.venue == venue), wanted)
        if after_id is not None:
            query = query.where(col(Finding.id) < after_id)
        with self._session() as session:
            return list(session.exec(query.order_by(col(Finding.id).desc()).limit(limit)))

    def members_of(self, ids: Collection[int]) -> list[Finding]:
        """The findings folded into these, oldest first."""
        if not ids:
            return []
        with self._session() as session:
            query = select(Finding).where(col(Finding.folded_into).in_(ids)).order_by(col(Finding.id))
            return list(session.exec(query))

    def member_ids(self, ids: Collection[int]) -> dict[int, list[int]]:
        """By the finding that stands for them, the ids of those folded into it."""
        found: dict[int, list[int]] = {finding_id: [] for finding_id in ids}
        if ids:
            with self._session() as session:
                query = select(Finding.folded_into, Finding.id).where(col(Finding.folded_into).in_(ids))
                for folded_into, finding_id in session.exec(query.order_by(col(Finding.id))):
                    found[folded_into or 0].append(finding_id or 0)
        return found

    def changes_of(self, finding_id: int) -> list[FindingChange]:
        """The newest changes of a finding, oldest of them first."""
        newest_first = col(FindingChange.id).desc()
        query = select(FindingChange).where(FindingChange.finding == finding_id)
        with self._session() as session:
            return list(session.exec(query.order_by(newest_first).limit(MAX_CHANGES_SHOWN)))[::-1]

    def count_of(self, finding_id: int, change: Change) -> int:
        query = select(func.count()).where(FindingChange.finding == finding_id, FindingChange.change == change)
        with self._session() as session:
            return session.exec(query).one()

    def changed_after(self, cursor: int, limit: int) -> list[Told]:
        """At most `limit` changes whose id is above `cursor`, in order."""
        query = (
            select(FindingChange, Finding)
            .where(col(FindingChange.id) > cursor, FindingChange.finding == Finding.id)
            .order_by(col(FindingChange.id))
            .limit(limit)
        )
        with self._session() as session:
            return [Told(change, finding) for change, finding in session.exec(query)]

    def openings_of(self, ids: Collection[int], since_ms: int) -> dict[int, list[int]]:
        """By finding, when it opened and reopened at or after `since_ms`."""
        found: dict[int, list[int]] = {finding_id: [] for finding_id in ids}
        wanted = sorted(found)
        with self._session() as session:
            for start in range(0, len(wanted), ROWS_AT_ONCE):
                query = select(FindingChange.finding, FindingChange.at_ms).where(
                    col(FindingChange.finding).in_(wanted[start : start + ROWS_AT_ONCE]),
                    col(FindingChange.change).in_(_OPENINGS),
                    FindingChange.at_ms >= since_ms,
                )
                for finding_id, at_ms in session.exec(query.order_by(col(FindingChange.id))):
                    found[finding_id].append(at_ms)
        return found

    def begun_since(self, venue: str, since_ms: int) -> list[Finding]:
        """Findings of faults that began at or after `since_ms`, ended ones too, and those that came back and were open
        at some time since; oldest first."""
        ended = col(Finding.ended_at_ms)
        came_back = and_(col(Finding.openings) > 1, or_(ended.is_(None), ended >= since_ms))
        query = select(Finding).where(Finding.venue == venue, or_(col(Finding.started_at_ms) >= since_ms, came_back))
        with self._session() as session:
            return list(session.exec(query.order_by(col(Finding.id))))

    def between(self, venue: str, from_ms: int, until_ms: int, limit: int) -> list[Finding]:
        """Findings told and not folded that were open at some time from `from_ms` until before `until_ms`."""
        ended = col(Finding.ended_at_ms)
        query = (
            select(Finding)
            .where(Finding.venue == venue, col(Finding.folded_into).is_(None), Finding.opened_at_ms < until_ms)
            .where(or_(ended.is_(None), ended >= from_ms))
            .order_by(col(Finding.id))
            .limit(limit)
        )
        with self._session() as session:
            return list(session.exec(query))

    def forget(self, ended_before_ms: int, limit: int) -> int:
        """Delete at most `limit` findings that ended before then, with their changes; how many those were.

        The newest finding and the newest change stay whatever their age: SQLite would give their numbers again, and
        whoever reads changes behind a number would miss what follows.
        """
        with self._session() as session:
            newest = session.scalar(select(func.max(Finding.id)))
            newest_change = col(FindingChange.id).desc()
            changed_last = session.scalar(select(FindingChange.finding).order_by(newest_change).limit(1))
            query = select(Finding.id).where(
                col(Finding.ended_at_ms) < ended_before_ms, col(Finding.id).not_in([newest or 0, changed_last or 0])
            )
            query = query.limit(limit)
            ids = [finding_id or 0 for finding_id in session.exec(query)]
            if ids:
                session.execute(delete(FindingChange).where(col(FindingChange.finding).in_(ids)))
                session.execute(delete(Finding).where(col(Finding.id).in_(ids)))
                session.commit()
            return len(ids)

    def _session(self) -> Session:
        return Session(self._engine, expire_on_commit=False)


def _filtered(query: SelectOfScalar[Finding], wanted: FindingFilter) -> SelectOfScalar[Finding]:
    ended = col(Finding.ended_at_ms)
    if wanted.open is not None:
        query = query.where(ended.is_(None) if wanted.open else ended.is_not(None))
    if wanted.kind is not None:
        query = query.where(Finding.kind == wanted.kind)
    if wanted.node is not None:
        query = query.where(Finding.node == wanted.node)
    if wanted.severity is not None:
        query = query.where(Finding.severity == wanted.severity)
    if not wanted.folded:
        query = query.where(col(Finding.folded_into).is_(None))
    muted, acknowledged = col(Finding.muted_by), col(Finding.acknowledged_at_ms)
    states: Mapping[FindingState, Any] = {
        FindingState.ENDED: ended.is_not(None),
        FindingState.MUTED: and_(ended.is_(None), muted.is_not(None)),
        FindingState.ACKNOWLEDGED: and_(ended.is_(None), muted.is_(None), acknowledged.is_not(None)),
        FindingState.OPEN: and_(ended.is_(None), muted.is_(None), acknowledged.is_(None)),
    }
    return query if wanted.state is None else query.where(states[wanted.state])


def new_finding(
    subject: Subject,
    rule: Rule,
    fault: Fault,
    *,
    supply: str | None = None,
    started_at_ms: int,
    opened_at_ms: int,
) -> Finding:
    """A finding that is about to be stored. Words are cut to what the table holds: a node's own may be in them."""
    words = rule.words(subject.name, fault.evidence)
    return Finding(
        venue=subject.venue,
        kind=subject.kind,
        severity=rule.severity,
        subject=subject.name[:MAX_SUBJECT],
        node=fault.node,
        supply=supply,
        started_at_ms=started_at_ms,
        opened_at_ms=opened_at_ms,
        message=words.message[:MAX_WORDS],
        likely_cause=words.likely_cause[:MAX_WORDS],
        next_check=words.next_check[:MAX_WORDS],
        cautions=json.dumps(rule.cautions),
        evidence=json.dumps(dict(fault.evidence)),
    )
