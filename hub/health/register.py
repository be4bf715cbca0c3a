"""What is open, as the last transaction left it, and what ended so lately that it may come back as the same finding."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final

from hub.health.cause import Cause
from hub.health.kinds import FindingKind, Severity
from hub.health.models import Finding
from hub.health.rule import Hysteresis, Subject
from hub.health.view import state_of

REOPENS_WITHIN_MS: Final = 10 * 60_000
# A subject whose newest openings lie this close together is damped: after the third, since by the fourth a node that
# restarts or whose connection flaps is told as that.
DAMPED_OPENINGS: Final = 4
DAMPED_WITHIN_MS: Final = 60 * 60_000
DAMPED_ENDS_AFTER_S: Final = 10 * 60.0

Counted = tuple[FindingKind, Severity, str]


@dataclass(frozen=True, slots=True)
class Known:
    """An open finding."""

    id: int
    node: str | None
    folded_into: int | None
    muted_by: int | None
    cause: Cause | None
    counted: Counted


@dataclass(frozen=True, slots=True)
class _Ended:
    id: int
    at_ms: int


class Register:
    """By subject. `take_in` is called with what was stored, and with nothing else."""

    def __init__(self) -> None:
        self.open: dict[Subject, Known] = {}
        self.muted: set[Subject] = set()
        self._ended: dict[Subject, _Ended] = {}
        self._openings_ms: dict[Subject, tuple[int, ...]] = {}

    def take_in(self, findings: Iterable[Finding], opened: Iterable[int], at_ms: int) -> None:
        """Rows as they are now; `opened`: which of them opened, or did so again, at `at_ms`."""
        subjects: dict[int, Subject] = {}
        for finding in findings:
            subject = subject_of(finding)
            subjects[finding.id or 0] = subject
            self.muted.discard(subject)
            if finding.ended_at_ms is None:
                self.open[subject] = _known(finding)
                self._ended.pop(subject, None)
                if finding.muted_by is not None:
                    self.muted.add(subject)
            else:
                self.open.pop(subject, None)
                self._ended[subject] = _Ended(finding.id or 0, finding.ended_at_ms)
        for finding_id in opened:
            self._note_opening(subjects[finding_id], at_ms)

    def adopt(self, finding: Finding, openings_ms: Collection[int]) -> None:
        """Take in what an earlier run of the hub left, oldest first."""
        self.take_in([finding], (), 0)
        for at_ms in openings_ms:
            self._note_opening(subject_of(finding), at_ms)

    def is_open(self, subject: Subject) -> bool:
        return subject in self.open

    def reopens(self, subject: Subject, now_ms: int) -> int | None:
        """The finding that comes back if this subject goes bad now."""
        ended = self._ended.get(subject)
        return ended.id if ended is not None and now_ms - ended.at_ms <= REOPENS_WITHIN_MS else None

    def damped(self, subject: Subject, hysteresis: Hysteresis) -> Hysteresis:
        """The hysteresis, or a slow end of it where the subject has come back again and again."""
        openings = self._openings_ms.get(subject, ())
        if len(openings) < DAMPED_OPENINGS or openings[-1] - openings[0] > DAMPED_WITHIN_MS:
            return hysteresis
        return Hysteresis(hysteresis.opens_after_s, max(hysteresis.ends_after_s, DAMPED_ENDS_AFTER_S))

    def forget(self, now_ms: int) -> None:
        """Let go of what ended too long ago to matter."""
        for subject in [one for one, ended in self._ended.items() if now_ms - ended.at_ms > DAMPED_WITHIN_MS]:
            del self._ended[subject]
        for subject in [one for one in self._openings_ms if one not in self.open and one not in self._ended]:
            del self._openings_ms[subject]

    def _note_opening(self, subject: Subject, at_ms: int) -> None:
        self._openings_ms[subject] = (*self._openings_ms.get(subject, ()), at_ms)[-DAMPED_OPENINGS:]


def subject_of(finding: Finding) -> Subject:
    return Subject(finding.venue, finding.kind, finding.subject)


def subject_of_cause(venue: str, kind: FindingKind, cause: Cause) -> Subject:
    """The subject of the finding that stands for what has this cause."""
    return Subject(venue, kind, f"cause:{cause.kind.value}:{cause.name}")


def _known(finding: Finding) -> Known:
    cause = None
    if finding.cause_kind is not None and finding.cause is not None:
        cause = Cause(finding.cause_kind, finding.cause)
    counted = (finding.kind, finding.severity, state_of(finding).value)
    return Known(finding.id or 0, finding.node, finding.folded_into, finding.muted_by, cause, counted)
