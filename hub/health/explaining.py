"""One node's faults that explain one another: while a kind is open that brings others with it, it stands for them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain
from math import inf
from typing import Final

from hub.health.kinds import FindingKind
from hub.health.models import Finding
from hub.health.register import subject_of
from hub.health.rule import Subject
from hub.health.rules.book import RULES
from hub.health.track import Track

# By kind, what explains it, in the order of the rules.
EXPLAINED_BY: Final[Mapping[FindingKind, Sequence[FindingKind]]] = {
    kind: tuple(other for other, rule in RULES.items() if kind in rule.explains) for kind in RULES
}
_CONCERNED: Final = frozenset(chain.from_iterable((kind, *by) for kind, by in EXPLAINED_BY.items() if by))


@dataclass(frozen=True, slots=True)
class Explained:
    """`by`: what explains a fault in the end, which nothing explains itself. `well`: those that end with what explained
    them, since nothing is wrong. `alone_since_s`: of those that were explained and are no more. `moved`: it is not as
    it was after the last round that was stored."""

    by: Mapping[Subject, Subject]
    well: frozenset[Subject]
    alone_since_s: Mapping[Subject, float]
    moved: bool


@dataclass(slots=True)
class Explaining:
    """Nothing is `held` before it was stored."""

    held: Mapping[Subject, Subject] = field(default_factory=dict)
    _wrong_since_s: dict[Subject, float] = field(default_factory=dict)
    _alone_since_s: dict[Subject, float] = field(default_factory=dict)

    def look(self, open_tracks: Mapping[Subject, Track], now_s: float) -> Explained:
        """After a round: `open_tracks` of what is open now."""
        of_node: dict[tuple[str, str], dict[FindingKind, Subject]] = defaultdict(dict)
        for subject in open_tracks:
            if subject.kind in _CONCERNED:
                of_node[subject.venue, subject.name][subject.kind] = subject
        could: dict[Subject, Subject] = {}
        for subjects in of_node.values():
            if len(subjects) > 1:
                could.update((subjects[kind], subjects[top]) for kind, top in explained_kinds(subjects).items())
        wrong = (subject for subject in could if open_tracks[subject].good_since_s is None)
        self._wrong_since_s = {subject: self._wrong_since_s.get(subject, now_s) for subject in wrong}
        by = {
            subject: top
            for subject, top in could.items()
            if now_s - self._wrong_since_s.get(subject, inf) <= RULES[subject.kind].explained_for_s
        }
        left = (self.held.keys() - by.keys()) & open_tracks.keys()
        well = frozenset(subject for subject in left if open_tracks[subject].good_since_s is not None)
        alone = (subject for subject in left | self._alone_since_s.keys() if subject in open_tracks)
        self._alone_since_s = {
            subject: self._alone_since_s.get(subject, now_s) for subject in alone if subject not in by
        }
        return Explained(by, well, self._alone_since_s, by != self.held)

    def adopt(self, findings: Iterable[Finding]) -> None:
        """Take in what was open when the hub ended: what stood for itself does so until it has been well."""
        for finding in findings:
            if finding.folded_into is None:
                self._wrong_since_s[subject_of(finding)] = -inf

    def begin_anew(self) -> None:
        """Time leapt: what is wrong may not have been for long."""
        self._wrong_since_s, self._alone_since_s = {}, {}

    def take_in(self, explained: Explained) -> None:
        """What `look` said has been stored."""
        self.held = explained.by


def explained_kinds(kinds: Iterable[FindingKind]) -> dict[FindingKind, FindingKind]:
    """Of the kinds that one node has open, those that another explains, with the one at the beginning. Pure."""
    here = set(kinds)
    nearest = {kind: next((other for other in EXPLAINED_BY[kind] if other in here), None) for kind in here}

    def beginning(kind: FindingKind) -> FindingKind:
        other = nearest[kind]
        return kind if other is None else beginning(other)

    return {kind: beginning(kind) for kind in here if nearest[kind] is not None}
