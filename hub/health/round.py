"""What one round of judgements makes of the findings, written into one ledger: openings, ends, folds, planned work."""

import json
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from hub.health.cause import Fold
from hub.health.cause_words import cautions_of, names_of, words_of
from hub.health.explaining import Explained
from hub.health.kinds import CauseKind
from hub.health.ledger import Ledger
from hub.health.models import Finding
from hub.health.planned_work import Work
from hub.health.register import Register, subject_of_cause
from hub.health.roots import Group, Turned
from hub.health.rule import About, Fault, Subject
from hub.health.rules.book import RULES
from hub.health.table import MAX_WORDS, new_finding
from hub.health.track import Track

NodesOfZones = Mapping[str, Mapping[str, frozenset[str]]]  # by venue and zone


@dataclass(frozen=True, slots=True)
class Round:
    """`tracks`: of what is open after it. `works`: the planned work that goes on. `by`: who lifted some, if anybody."""

    now_ms: int
    opens: Mapping[Subject, Fault]
    ends: Collection[Subject]
    tracks: Mapping[Subject, Track]
    explained: Explained
    turned: Mapping[Group, Turned]
    works: Sequence[Work]
    nodes_of_zones: NodesOfZones
    by: str | None = None

    def write(self, register: Register, ledger: Ledger) -> None:
        """Everything that changes by it. `register` still holds what was before."""
        ids = {subject: known.id for subject, known in register.open.items()}
        ending = [*self.ends, *self.explained.well, *self._well(), *self._causes_over()]
        ledger.read(ids[subject] for subject in ending if subject in ids)
        for subject in ending:
            if subject in ids:
                ledger.end(ids.pop(subject))
        self._open(
            register, ledger, {subject: self._told(subject, fault) for subject, fault in self.opens.items()}, ids
        )
        self._open(register, ledger, dict(self._causes_begun()), ids)
        for (venue, kind), turn in self.turned.items():
            for fold in turn.grown:
                subject = subject_of_cause(venue, kind, fold.cause)
                ledger.read([ids[subject]])
                ledger.retell(ids[subject], self._told_of_cause((venue, kind), fold))
        self._fold(register, ledger, ids)
        self._mute(register, ledger, ids)

    def changes_anything(self, register: Register) -> bool:
        """Whether `write` would write."""
        if self.opens or self.ends or self.explained.moved:
            return True
        if any(turn.begun or turn.grown or turn.over for turn in self.turned.values()):
            return True
        # Most rounds end here: nothing is looked at one by one while nobody is at work.
        return bool(self.works or register.muted) and any(
            (work is None) != (known.muted_by is None) or (work is not None and work.id != known.muted_by)
            for known, work in (
                (known, self._work_over(subject, known.node)) for subject, known in register.open.items()
            )
        )

    def _open(
        self, register: Register, ledger: Ledger, told: Mapping[Subject, Finding], ids: dict[Subject, int]
    ) -> None:
        back = {subject: register.reopens(subject, self.now_ms) for subject in told}
        ledger.read(finding_id for finding_id in back.values() if finding_id is not None)
        ledger.open([finding for subject, finding in told.items() if back[subject] is None])
        for subject, finding in told.items():
            known_id = back[subject]
            if known_id is None:
                ids[subject] = finding.id or 0
            else:
                ledger.reopen(known_id, finding)
                ids[subject] = known_id

    def _fold(self, register: Register, ledger: Ledger, ids: Mapping[Subject, int]) -> None:
        moves = list(self._moves(register, ids))
        moves += [(ids[subject], self._over(subject, ids)) for subject in self.opens if subject in ids]
        # What stands for them is read too, since it is shown with what it stands for.
        ledger.read(finding_id for move in moves for finding_id in move if finding_id is not None)
        for finding_id, into in moves:
            if into is None:
                ledger.unfold(finding_id)
            else:
                ledger.fold(finding_id, into)

    def _moves(self, register: Register, ids: Mapping[Subject, int]) -> Iterator[tuple[int, int | None]]:
        """Open findings that come under another finding than before, or under none."""
        for subject, known in register.open.items():
            if known.cause is None and subject in ids and subject not in self.ends:
                into = self._over(subject, ids)
                if into != known.folded_into:
                    yield known.id, into

    def _over(self, subject: Subject, ids: Mapping[Subject, int]) -> int | None:
        """What stands for it. What explains it may itself stand under a cause: then that does, for both."""
        explaining = self.explained.by.get(subject)
        if explaining is not None:
            over = self._over(explaining, ids)
            return ids.get(explaining) if over is None else over
        turn = self.turned.get((subject.venue, subject.kind))
        cause = None if turn is None else turn.under.get(subject.name)
        return None if cause is None else ids.get(subject_of_cause(subject.venue, subject.kind, cause))

    def _mute(self, register: Register, ledger: Ledger, ids: Mapping[Subject, int]) -> None:
        for subject, finding_id in ids.items():
            written = ledger.findings.get(finding_id)
            if written is not None:
                node, muted_by = written.node, written.muted_by
            else:
                node, muted_by = register.open[subject].node, register.open[subject].muted_by
            work = self._work_over(subject, node)
            if work is not None and work.id != muted_by:
                ledger.read([finding_id])
                ledger.mute(finding_id, work.id, work.made_by, work.reason)
            elif work is None and muted_by is not None:
                ledger.read([finding_id])
                ledger.unmute(finding_id, self.by)

    def _work_over(self, subject: Subject, node: str | None) -> Work | None:
        if not self.works:
            return None
        turn = self.turned.get((subject.venue, subject.kind))
        nodes = [] if node is None else [node]
        if node is None and turn is not None:
            stands_for = {subject_of_cause(subject.venue, subject.kind, fold.cause): fold.cause for fold in turn.folds}
            nodes = [name for name, cause in turn.under.items() if cause == stands_for.get(subject)]
        zones = self.nodes_of_zones.get(subject.venue, {})
        return next((work for work in self.works if work.covers(subject.venue, subject.kind, nodes, zones)), None)

    def _well(self) -> Iterator[Subject]:
        for (venue, kind), turn in self.turned.items():
            for node in turn.well:
                yield Subject(venue, kind, node)

    def _causes_over(self) -> Iterator[Subject]:
        for (venue, kind), turn in self.turned.items():
            for cause in turn.over:
                yield subject_of_cause(venue, kind, cause)

    def _causes_begun(self) -> Iterator[tuple[Subject, Finding]]:
        for (venue, kind), turn in self.turned.items():
            for fold in turn.begun:
                yield subject_of_cause(venue, kind, fold.cause), self._told_of_cause((venue, kind), fold)

    def _told(self, subject: Subject, fault: Fault) -> Finding:
        rule = RULES[subject.kind]
        return new_finding(
            subject,
            rule,
            fault,
            supply=subject.name if rule.about is About.SUPPLY else None,
            started_at_ms=self._began_ms(subject),
            opened_at_ms=self.now_ms,
        )

    def _told_of_cause(self, group: Group, fold: Fold) -> Finding:
        venue, kind = group
        words = words_of(kind, fold.cause, fold.also, fold.nodes)
        subjects = [Subject(venue, kind, node) for node in fold.nodes]
        also = ", ".join(f"{one.kind.value} {one.name}" for one in fold.also)[:MAX_WORDS]
        return Finding(
            venue=venue,
            kind=kind,
            severity=RULES[kind].severity,
            subject=subject_of_cause(venue, kind, fold.cause).name,
            supply=fold.cause.name if fold.cause.kind is CauseKind.SUPPLY else None,
            cause_kind=fold.cause.kind,
            cause=fold.cause.name,
            started_at_ms=min(self._began_ms(subject) for subject in subjects if subject in self.tracks),
            opened_at_ms=self.now_ms,
            message=words.message[:MAX_WORDS],
            likely_cause=words.likely_cause[:MAX_WORDS],
            next_check=words.next_check[:MAX_WORDS],
            cautions=json.dumps(cautions_of(kind, fold.cause)),
            evidence=json.dumps({"count": len(fold.nodes), "nodes": names_of(fold.nodes), "also": also or None}),
        )

    def _began_ms(self, subject: Subject) -> int:
        began_s = self.tracks[subject].bad_since_s
        return self.now_ms if began_s is None else int(began_s * 1000)
