"""Findings in the database: opened and ended in one transaction, read back after a restart, listed in pages."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import Engine
from sqlmodel import Session, col, select

from hub.health.kinds import FindingKind
from hub.health.models import Finding
from hub.health.rule import Fault, Rule, Subject

MAX_WORDS = 400
MAX_SUBJECT = 80


@dataclass(frozen=True, slots=True)
class FindingFilter:
    """Which findings are wanted; None does not restrict."""

    open: bool | None = None
    kind: FindingKind | None = None
    node: str | None = None


class FindingTable:
    """The findings of all venues."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def open_findings(self) -> list[Finding]:
        """Everything that has not ended, oldest first."""
        with self._session() as session:
            query = select(Finding).where(col(Finding.ended_at_ms).is_(None)).order_by(col(Finding.id))
            return list(session.exec(query))

    def write(self, opened: Sequence[Finding], ended: Iterable[int], ended_at_ms: int) -> list[Finding]:
        """Store new findings (their ids are set) and end others, all or nothing; returns those that ended."""
        with self._session() as session:
            session.add_all(opened)
            ended = list(ended)
            gone = list(session.exec(select(Finding).where(col(Finding.id).in_(ended)))) if ended else []
            for finding in gone:
                finding.ended_at_ms = ended_at_ms
            session.commit()
            return gone

    def listed(self, venue: str, wanted: FindingFilter, after_id: int | None, limit: int) -> list[Finding]:
        """At most `limit` findings, newest first, older than `after_id` where it is given."""
        query = select(Finding).where(Finding.venue == venue)
        if wanted.open is not None:
            ended = col(Finding.ended_at_ms)
            query = query.where(ended.is_(None) if wanted.open else ended.is_not(None))
        if wanted.kind is not None:
            query = query.where(Finding.kind == wanted.kind)
        if wanted.node is not None:
            query = query.where(Finding.node == wanted.node)
        if after_id is not None:
            query = query.where(col(Finding.id) < after_id)
        with self._session() as session:
            return list(session.exec(query.order_by(col(Finding.id).desc()).limit(limit)))

    def begun_since(self, venue: str, since_ms: int) -> list[Finding]:
        """Findings of faults that began at or after `since_ms`, ended ones too, oldest first."""
        query = select(Finding).where(Finding.venue == venue, Finding.started_at_ms >= since_ms)
        with self._session() as session:
            return list(session.exec(query.order_by(col(Finding.id))))

    def _session(self) -> Session:
        return Session(self._engine, expire_on_commit=False)


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
