"""Findings over time: opened and ended by the rules with hysteresis, folded by cause, stored, told once, re-adopted."""

import logging
from collections import Counter
from collections.abc import Callable, Mapping
from typing import Final

from sqlalchemy import Engine

from hub.errors import ConflictError, NotFoundError
from hub.events.bus import EventBus
from hub.fleet.lifeline import time_leapt
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from hub.health.cause import nodes_by_zone, shares_of
from hub.health.digest import MAX_FINDINGS_OF_A_DAY, Digest, digest_of
from hub.health.explaining import Explaining
from hub.health.kinds import Change
from hub.health.ledger import Ledger
from hub.health.models import Finding
from hub.health.mute_view import MuteRequest, MuteView
from hub.health.planned_work import PlannedWork
from hub.health.register import DAMPED_WITHIN_MS, Counted, Register, subject_of
from hub.health.roots import Roots
from hub.health.round import Round
from hub.health.rule import Fault, Outcome, Subject
from hub.health.rules.book import RULES
from hub.health.table import FindingFilter, FindingTable, Told
from hub.health.track import REST, Track, Turn, step
from hub.health.view import FindingDetail, FindingView, detail_of, view_of
from hub.health.watch import Watch
from hub.rollout.gates import NewFinding
from schemas import Leaf, Venue

EVALUATE_EVERY_S: Final = 0.5
KEPT_MS: Final = 2 * 366 * 86_400_000
FORGET_EVERY_S: Final = 3_600.0
FORGOTTEN_AT_ONCE: Final = 200
MAX_NOTES: Final = 200

_WORDS: Final = {Change.OPENED: "opened", Change.REOPENED: "opened again", Change.ENDED: "ended"}

log = logging.getLogger(__name__)


class HealthService:
    """A fleet listener, and the reader of findings. `desired_revision(venue, node)` is asked on the loop's thread.

    Whatever changes a finding happens on the loop's thread: persons' doings come there by `FleetLoop.call`.
    """

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
        self._register = Register()
        self._explaining = Explaining()
        self._roots = Roots()
        self._planned = PlannedWork(engine)
        self._nodes_of_zones: dict[str, Mapping[str, frozenset[str]]] = {}
        self._counts: Mapping[str, Counter[Counted]] = {}
        self._hearers: list[Callable[[], None]] = []
        self._next_s = 0.0
        self._forget_s = 0.0
        self._ticked_s: float | None = None

    def adopt_open(self) -> None:
        """Before the loop starts: findings that were open when the hub ended stay the same findings."""
        self._loop.arrange(self._adopt)

    def venue_changed(self, venue: Venue) -> None:
        """Take in budgets, and what nodes share; from any thread."""
        shares, zones = shares_of(venue), nodes_by_zone(venue)

        def work(_now_s: float) -> None:
            self._watch.venue_changed(venue)
            self._roots.shares[venue.id] = shares
            self._nodes_of_zones[venue.id] = zones

        self._loop.arrange(work)

    def on_changes(self, hearer: Callable[[], None]) -> None:
        """Before the loop starts: called on its thread after every transaction that changed findings. Must be quick."""
        self._hearers.append(hearer)

    # What others read, from any thread.

    def findings(self, venue: str, wanted: FindingFilter, after_id: int | None, limit: int) -> list[FindingView]:
        """At most `limit` findings, newest first, after the one whose id is `after_id`."""
        return self._views(self._table.listed(venue, wanted, after_id, limit))

    def finding(self, venue: str, finding_id: int) -> FindingDetail:
        """One finding, with what happened to it and the findings that it stands for."""
        finding = self._stored(venue, finding_id)
        return detail_of(finding, self._table.changes_of(finding_id), self._table.members_of([finding_id]))

    def changed_after(self, cursor: int, limit: int) -> list[Told]:
        """At most `limit` changes of findings whose id is above `cursor`, in order, each with its finding as it is."""
        return self._table.changed_after(cursor, limit)

    def opened_since(self, venue: str, since_ms: int) -> list[NewFinding]:
        """What rollouts in batches watch for: findings of faults that began or came back at or after `since_ms`."""
        found = [finding for finding in self._table.begun_since(venue, since_ms) if finding.node is not None]
        back = [finding.id or 0 for finding in found if finding.started_at_ms < since_ms]
        openings = self._table.openings_of(back, since_ms) if back else {}
        return [
            NewFinding(finding.node or "", finding.message)
            for finding in found
            if finding.started_at_ms >= since_ms
            or any(at_ms - _opens_after_ms(finding) >= since_ms for at_ms in openings[finding.id or 0])
        ]

    def open_counts(self, venue: str) -> Counter[Counted]:
        """How many are open, by kind, severity and state; those that another stands for do not count."""
        return self._counts.get(venue, Counter())

    def digest(self, venue: str, from_ms: int, until_ms: int) -> Digest:
        """What was wrong in a spell of time, such as a day."""
        found = self._table.between(venue, from_ms, until_ms, MAX_FINDINGS_OF_A_DAY)
        return digest_of(self._views(found), from_ms, until_ms)

    # What persons do.

    def acknowledge(self, venue: str, finding_id: int, by: str | None, note: str | None) -> FindingView:
        """Somebody is on it. Raises ConflictError where it has ended."""

        def work(now_s: float) -> FindingView:
            if self._stored(venue, finding_id).ended_at_ms is not None:
                raise ConflictError("the finding has ended: there is nothing to acknowledge; a note can still be added")
            return self._changed_by_person(finding_id, now_s, lambda ledger: ledger.acknowledge(finding_id, by, note))

        return self._loop.call(work)

    def add_note(self, venue: str, finding_id: int, by: str | None, text: str) -> FindingView:
        """What was seen or done, open or ended."""

        def work(now_s: float) -> FindingView:
            self._stored(venue, finding_id)
            if self._table.count_of(finding_id, Change.NOTED) >= MAX_NOTES:
                raise ConflictError(f"the finding has {MAX_NOTES} notes already; no more are kept")
            return self._changed_by_person(finding_id, now_s, lambda ledger: ledger.add_note(finding_id, by, text))

        return self._loop.call(work)

    def mutes(self, venue: str, after_id: int | None, limit: int, *, over: bool) -> list[MuteView]:
        """Planned work, newest first."""
        now_ms = self._loop.call(lambda now_s: int(now_s * 1000))
        return self._planned.mutes(venue, now_ms, after_id, limit, over=over)

    def mute(self, venue: Venue, wanted: MuteRequest, by: str | None) -> MuteView:
        """Plan work: while it lasts, what it covers is told to nobody. Raises InvalidError, ConflictError."""

        def work(now_s: float) -> MuteView:
            mute = self._planned.plan(venue, wanted, by, int(now_s * 1000))
            self._evaluate(now_s)
            return mute

        return self._loop.call(work)

    def unmute(self, venue: str, mute_id: int, by: str | None) -> None:
        """End planned work now: what is still wrong is told. Raises NotFoundError, ConflictError."""

        def work(now_s: float) -> None:
            self._planned.lift(venue, mute_id, by, int(now_s * 1000))
            self._evaluate(now_s, by)

        self._loop.call(work)

    # What the fleet loop tells.

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
        if now_s >= self._forget_s or leapt:
            self._forget(now_s)

    def _adopt(self, now_s: float) -> None:
        now_ms = int(now_s * 1000)
        found = self._table.open_or_ended_since(now_ms - DAMPED_WITHIN_MS)
        openings = self._table.openings_of([one.id or 0 for one in found], now_ms - 2 * DAMPED_WITHIN_MS)
        for finding in found:
            self._register.adopt(finding, openings[finding.id or 0])
            if finding.ended_at_ms is None and finding.cause is None:
                began_ms = finding.started_at_ms
                if finding.openings > 1 and openings[finding.id or 0]:
                    began_ms = openings[finding.id or 0][-1] - _opens_after_ms(finding)
                self._tracks[subject_of(finding)] = Track(finding.id, began_ms / 1000)
        parents = [one for one in found if one.ended_at_ms is None and one.cause is not None]
        self._roots.adopt(parents, self._table.members_of([one.id or 0 for one in parents]))
        self._explaining.adopt(one for one in found if one.ended_at_ms is None)
        self._planned.adopt(now_ms)
        self._count()

    def _begin_anew(self, now_s: float) -> None:
        """Time leapt: what seemed to hold for long may not have."""
        self._tracks = {
            subject: Track(track.finding_id, track.bad_since_s)
            for subject, track in self._tracks.items()
            if track.finding_id is not None
        }
        self._explaining.begin_anew()
        self._roots.begin_anew()
        self._watch.begin_anew(now_s)

    def _evaluate(self, now_s: float, by: str | None = None) -> None:
        opens, ends, answers = self._judge(now_s)
        coming: list[Subject] = []
        open_tracks: dict[Subject, Track] = {}
        for subject, track in self._tracks.items():
            if subject in opens or (track.finding_id is not None and subject not in ends):
                open_tracks[subject] = track
            elif track.finding_id is None:
                coming.append(subject)
        now_ms = int(now_s * 1000)
        explained = self._explaining.look(open_tracks, now_s)
        this = Round(
            now_ms=now_ms,
            opens=opens,
            ends=ends,
            tracks=open_tracks,
            explained=explained,
            turned=self._roots.look(open_tracks, coming, answers, explained, now_s),
            works=self._planned.going_on(now_ms),
            nodes_of_zones=self._nodes_of_zones,
            by=by,
        )
        if this.changes_anything(self._register):
            with self._table.ledger(now_ms) as ledger:
                this.write(self._register, ledger)
            self._stored_all(ledger)
        self._explaining.take_in(explained)
        self._roots.take_in(this.turned)

    def _judge(self, now_s: float) -> tuple[dict[Subject, Fault], set[Subject], dict[Subject, Outcome]]:
        """What opens and what ends, and the answers to what was asked for the sake of causes."""
        opens: dict[Subject, Fault] = {}
        ends: set[Subject] = set()
        answers: dict[Subject, Outcome] = {}
        asked = self._roots.asked
        pending = asked.union(self._tracks)
        for subject, outcome in self._watch.judge(self._loop.state, now_s, pending, self._register.is_open):
            before = self._tracks.get(subject, REST)
            if before is REST and not isinstance(outcome, Fault):
                answers[subject] = outcome
                continue
            hysteresis = self._register.damped(subject, RULES[subject.kind].hysteresis)
            after, turn = step(before, outcome, now_s, hysteresis)
            if after is not before:
                self._keep(subject, after)
            if turn is Turn.OPENS and isinstance(outcome, Fault):
                opens[subject] = outcome
            elif turn is Turn.ENDS:
                ends.add(subject)
        in_order = sorted(opens, key=lambda subject: (subject.venue, subject.kind, subject.name))
        return {subject: opens[subject] for subject in in_order}, ends, answers

    def _keep(self, subject: Subject, track: Track) -> None:
        if track == REST:
            self._tracks.pop(subject, None)
        else:
            self._tracks[subject] = track

    def _stored_all(self, ledger: Ledger) -> None:
        """The transaction is kept: remember it, and tell."""
        opened = [entry.finding for entry in ledger.entries if entry.change in (Change.OPENED, Change.REOPENED)]
        self._register.take_in(ledger.findings.values(), opened, ledger.now_ms)
        for finding in ledger.findings.values():
            subject = subject_of(finding)
            if finding.ended_at_ms is not None:
                self._tracks.pop(subject, None)
            elif subject in self._tracks:
                track = self._tracks[subject]
                self._tracks[subject] = Track(finding.id, track.bad_since_s, track.good_since_s)
        self._count()
        for entry in ledger.entries:
            self._log(entry.change, ledger.findings[entry.finding])
        heard = [one for one in ledger.findings.values() if self._events.has_subscribers(one.venue)]
        for finding, view in zip(heard, self._views(heard), strict=True):
            self._events.publish("finding", finding.venue, view.model_dump(mode="json"))
        for hearer in self._hearers:
            hearer()

    def _changed_by_person(self, finding_id: int, now_s: float, act: Callable[[Ledger], None]) -> FindingView:
        with self._table.ledger(int(now_s * 1000)) as ledger:
            ledger.read([finding_id])
            act(ledger)
        self._stored_all(ledger)
        return self._views([ledger.findings[finding_id]])[0]

    def _stored(self, venue: str, finding_id: int) -> Finding:
        finding = self._table.get(venue, finding_id)
        if finding is None:
            raise NotFoundError("finding", str(finding_id))
        return finding

    def _views(self, findings: list[Finding]) -> list[FindingView]:
        members = self._table.member_ids([one.id or 0 for one in findings if _may_stand_for_others(one)])
        return [view_of(one, members.get(one.id or 0, ())) for one in findings]

    def _count(self) -> None:
        counts: dict[str, Counter[Counted]] = {}
        for subject, known in self._register.open.items():
            if known.folded_into is None:
                counts.setdefault(subject.venue, Counter())[known.counted] += 1
        self._counts = counts

    def _forget(self, now_s: float) -> None:
        now_ms = int(now_s * 1000)
        self._forget_s = now_s + FORGET_EVERY_S
        self._register.forget(now_ms)
        self._planned.forget(now_ms - KEPT_MS)
        if self._table.forget(now_ms - KEPT_MS, FORGOTTEN_AT_ONCE) == FORGOTTEN_AT_ONCE:
            self._forget_s = now_s + EVALUATE_EVERY_S

    @staticmethod
    def _log(change: Change, finding: Finding) -> None:
        word = _WORDS.get(change, change.value)
        told = change in (Change.OPENED, Change.REOPENED) and finding.folded_into is None
        log.log(
            logging.WARNING if told else logging.INFO,
            "finding %s id=%s kind=%s venue=%s node=%s supply=%s cause=%s evidence=%s message=%r",
            word,
            finding.id,
            finding.kind,
            finding.venue,
            finding.node,
            finding.supply,
            finding.cause,
            finding.evidence,
            finding.message,
        )


def _may_stand_for_others(finding: Finding) -> bool:
    rule = RULES.get(finding.kind)
    return finding.cause is not None or (rule is not None and bool(rule.explains))


def _opens_after_ms(finding: Finding) -> int:
    rule = RULES.get(finding.kind)
    return 0 if rule is None else int(rule.hysteresis.opens_after_s * 1000)
