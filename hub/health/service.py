"""Findings over time: opened and ended by the rules with hysteresis, stored, told once, re-adopted after a restart."""

import logging
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from sqlalchemy import Engine

from hub.events.bus import EventBus
from hub.fleet.lifeline import time_leapt
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from hub.health.models import Finding
from hub.health.rule import About, Fault, Outcome, Subject
from hub.health.rules.book import RULES
from hub.health.table import FindingFilter, FindingTable, new_finding
from hub.health.track import REST, Track, Turn, step
from hub.health.view import FindingView, view_of
from hub.health.watch import Watch
from hub.rollout.gates import NewFinding
from schemas import Leaf, Venue

EVALUATE_EVERY_S: Final = 0.5

log = logging.getLogger(__name__)


class HealthService:
    """A fleet listener, and the reader of findings. `desired_revision(venue, node)` is asked on the loop's thread."""

    def __init__(
        self,
        engine: Engine,
        loop: FleetLoop,
        events: EventBus,
        *,
        telemetry_interval_s: float,
        desired_revision: Callable[[str, str], int | None],
    ) -> None:
        self._loop = loop
        self._events = events
        self._table = FindingTable(engine)
        self._watch = Watch(telemetry_interval_s, desired_revision)
        self._tracks: dict[Subject, Track] = {}
        self._next_s = 0.0
        self._ticked_s: float | None = None

    def adopt_open(self) -> None:
        """Before the loop starts: findings that were open when the hub ended stay the same findings."""
        for finding in self._table.open_findings():
            self._tracks[_subject_of(finding)] = Track(finding_id=finding.id)

    def venue_changed(self, venue: Venue) -> None:
        """Take in the budgets of a venue's supplies; from any thread."""
        self._loop.arrange(lambda _now_s: self._watch.venue_changed(venue))

    def findings(self, venue: str, wanted: FindingFilter, after_id: int | None, limit: int) -> list[FindingView]:
        """At most `limit` findings, newest first, after the one whose id is `after_id`."""
        return [view_of(finding) for finding in self._table.listed(venue, wanted, after_id, limit)]

    def opened_since(self, venue: str, since_ms: int) -> list[NewFinding]:
        """What rollouts in batches watch for: findings of faults that began at or after `since_ms`."""
        return [
            NewFinding(finding.node, finding.message)
            for finding in self._table.begun_since(venue, since_ms)
            if finding.node is not None
        ]

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        self._watch.node_changed(node, leaf, now_s)

    def link_changed(self, connected: bool, now_s: float) -> None:
        self._watch.link_changed(connected, now_s)

    def tick(self, now_s: float) -> None:
        leapt, self._ticked_s = time_leapt(self._ticked_s, now_s), now_s
        if leapt:
            self._begin_anew(now_s)
        if now_s >= self._next_s or leapt:
            self._next_s = now_s + EVALUATE_EVERY_S
            self._evaluate(now_s)

    def _begin_anew(self, now_s: float) -> None:
        """Time leapt: what seemed to hold for long may not have."""
        self._tracks = {subject: track for subject, track in self._tracks.items() if track.finding_id is not None}
        self._watch.begin_anew(now_s)

    def _evaluate(self, now_s: float) -> None:
        changed: dict[Subject, Track] = {}
        opened: dict[Subject, Finding] = {}
        ended: dict[int, Subject] = {}
        for subject, outcome in self._watch.judge(self._loop.state.nodes, now_s, tuple(self._tracks), self._is_open):
            before = self._tracks.get(subject, REST)
            after, turn = step(before, outcome, now_s, RULES[subject.kind].hysteresis)
            if after != before:
                changed[subject] = after
            if turn is Turn.OPENS:
                opened[subject] = _finding(subject, outcome, after, now_s)
            elif turn is Turn.ENDS and after.finding_id is not None:
                ended[after.finding_id] = subject
        gone = self._table.write(list(opened.values()), ended, int(now_s * 1000)) if opened or ended else []
        self._tracks.update(changed)
        for subject, finding in opened.items():
            self._tracks[subject] = replace(self._tracks[subject], finding_id=finding.id)
        for subject in ended.values():
            self._tracks[subject] = REST
        for subject in [subject for subject, track in self._tracks.items() if track == REST]:
            del self._tracks[subject]
        for finding in (*opened.values(), *gone):
            self._tell(finding)

    def _tell(self, finding: Finding) -> None:
        level, word = (logging.WARNING, "opened") if finding.ended_at_ms is None else (logging.INFO, "ended")
        log.log(
            level,
            "finding %s id=%s kind=%s venue=%s node=%s supply=%s evidence=%s message=%r",
            word,
            finding.id,
            finding.kind,
            finding.venue,
            finding.node,
            finding.supply,
            finding.evidence,
            finding.message,
        )
        self._events.publish("finding", finding.venue, view_of(finding).model_dump(mode="json"))

    def _is_open(self, subject: Subject) -> bool:
        return self._tracks.get(subject, REST).finding_id is not None


def _subject_of(finding: Finding) -> Subject:
    return Subject(finding.venue, finding.kind, finding.subject)


def _finding(subject: Subject, outcome: Outcome, track: Track, now_s: float) -> Finding:
    assert isinstance(outcome, Fault)  # noqa: S101 (only a fault opens)
    assert track.bad_since_s is not None  # noqa: S101
    rule = RULES[subject.kind]
    return new_finding(
        subject,
        rule,
        outcome,
        supply=subject.name if rule.about is About.SUPPLY else None,
        started_at_ms=int(track.bad_since_s * 1000),
        opened_at_ms=int(now_s * 1000),
    )
