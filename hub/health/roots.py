"""Which causes stand for which nodes just now, by venue and kind; looked at after each round of judgements."""

from collections import defaultdict
from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from hub.health.cause import (
    NOTHING_SHARED,
    SHARED_WITHIN_S,
    Cause,
    Faults,
    Fold,
    Shares,
    Standing,
    Trouble,
    fold_faults,
)
from hub.health.explaining import Explained
from hub.health.kinds import FindingKind
from hub.health.models import Finding
from hub.health.rule import GOOD, UNKNOWN, About, Outcome, Subject
from hub.health.rules.book import RULES
from hub.health.track import Track

Group = tuple[str, FindingKind]
FOLDED_KINDS: Final = frozenset(kind for kind, rule in RULES.items() if rule.causes and rule.about is About.NODE)


@dataclass(frozen=True, slots=True)
class Turned:
    """What is to be written of one venue's findings of one kind: causes that begin and end to stand for their nodes,
    by node what stands for it now, and those that end with a cause that was disproved, since nothing is wrong."""

    folds: tuple[Fold, ...]
    begun: tuple[Fold, ...]
    grown: tuple[Fold, ...]
    over: tuple[Cause, ...]
    under: Mapping[str, Cause]
    well: frozenset[str]


@dataclass(slots=True)
class Roots:
    """`asked`: subjects whose outcomes the next round needs. Nothing is `held` before it was stored."""

    shares: dict[str, Shares] = field(default_factory=dict)
    asked: frozenset[Subject] = frozenset()
    held: dict[Group, tuple[Fold, ...]] = field(default_factory=dict)

    def look(
        self,
        open_tracks: Mapping[Subject, Track],
        coming: Iterable[Subject],
        answers: Mapping[Subject, Outcome],
        explained: Explained,
        now_s: float,
    ) -> dict[Group, Turned]:
        """After a round: `open_tracks` of what is open now, `coming` what may open, `answers` to what was asked.

        A fault that another of its node explains speaks neither for a cause nor against one.
        """
        troubles: dict[Group, dict[str, Trouble]] = defaultdict(dict)
        for subject, track in open_tracks.items():
            if subject.kind in FOLDED_KINDS and subject not in explained.by and subject not in explained.well:
                began_s = max(track.bad_since_s or 0.0, explained.alone_since_s.get(subject, 0.0))
                well = track.good_since_s is not None
                troubles[subject.venue, subject.kind][subject.name] = Trouble(began_s, well)
        soon = frozenset(coming)
        ask: set[Subject] = set()
        turned: dict[Group, Turned] = {}
        for group in troubles.keys() | self.held.keys():
            venue, kind = group
            rule = RULES[kind]
            held = self.held.get(group, ())
            folding = fold_faults(
                self.shares.get(venue, NOTHING_SHARED),
                rule.causes,
                Faults(troubles.get(group, {}), _Asking(group, soon, answers, explained.by)),
                held,
                now_s,
                fresh_s=rule.hysteresis.opens_after_s + SHARED_WITHIN_S,
            )
            ask.update(Subject(venue, kind, node) for node in folding.ask)
            turned[group] = _turned(held, folding.folds, troubles.get(group, {}))
        self.asked = frozenset(ask)
        return turned

    def adopt(self, parents: Iterable[Finding], members: Iterable[Finding]) -> None:
        """Take in the causes that stood when the hub ended, and what they stood for."""
        nodes: dict[tuple[int, FindingKind], set[str]] = defaultdict(set)
        for member in members:
            nodes[member.folded_into or 0, member.kind].add(member.subject)
        for parent in parents:
            if parent.cause_kind is not None and parent.cause is not None:
                fold = Fold(Cause(parent.cause_kind, parent.cause), frozenset(nodes[parent.id or 0, parent.kind]))
                group = (parent.venue, parent.kind)
                self.held[group] = (*self.held.get(group, ()), fold)

    def begin_anew(self) -> None:
        """Time leapt: what speaks against a cause may not have done so for long."""
        for group, folds in self.held.items():
            self.held[group] = tuple(replace(fold, doubted_since_s=None) for fold in folds)

    def take_in(self, turned: Mapping[Group, Turned]) -> None:
        """What `look` said has been stored."""
        for group, turn in turned.items():
            if turn.folds:
                self.held[group] = turn.folds
            else:
                self.held.pop(group, None)


@dataclass(frozen=True, slots=True)
class _Asking:
    group: Group
    coming: frozenset[Subject]
    answers: Mapping[Subject, Outcome]
    explained: Container[Subject]

    def __call__(self, node: str) -> Standing | None:
        subject = Subject(*self.group, node)
        if subject in self.coming:
            return Standing.OPEN
        if subject in self.explained:
            return Standing.UNKNOWN
        answer = self.answers.get(subject)
        if answer is None:
            return None
        if answer is GOOD:
            return Standing.WELL
        # Of silence nothing is known only until a node had the time to come back: that is worth waiting for.
        soon_known = answer is UNKNOWN and subject.kind is FindingKind.SILENT
        return Standing.OPEN if soon_known else Standing.UNKNOWN


def _turned(held: tuple[Fold, ...], folds: tuple[Fold, ...], troubles: Mapping[str, Trouble]) -> Turned:
    before = {fold.cause: fold for fold in held}
    after = {fold.cause: fold for fold in folds}
    under = {node: fold.cause for fold in folds for node in fold.nodes if node in troubles}
    left = {node for fold in held for node in fold.nodes if node in troubles and node not in under}
    return Turned(
        folds=folds,
        begun=tuple(fold for fold in folds if fold.cause not in before),
        grown=tuple(fold for fold in folds if fold.cause in before and fold.nodes != before[fold.cause].nodes),
        over=tuple(cause for cause in before if cause not in after),
        under=under,
        well=frozenset(node for node in left if troubles[node].well),
    )
