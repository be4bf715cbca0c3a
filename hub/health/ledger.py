"""One transaction over findings: whatever changes one writes a line of its history with it, or neither is kept."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from sqlalchemy import insert
from sqlmodel import Session, col, select

from hub.health.kinds import Change
from hub.health.models import Finding, FindingChange

ROWS_AT_ONCE: Final = 10_000  # below what either database takes as parameters of one statement

# What a finding takes over from the fault that brings it back: it says what is wrong now.
_TAKEN_OVER: Final = ("severity", "node", "message", "likely_cause", "next_check", "cautions", "evidence")


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of a finding's history that is about to be stored."""

    finding: int
    change: Change
    by: str | None
    note: str | None


class Ledger:
    """Read the rows by `read` before they are changed by id. `entries` are in the order in which they happened."""

    def __init__(self, session: Session, now_ms: int) -> None:
        self.now_ms = now_ms
        self.findings: dict[int, Finding] = {}
        self.entries: list[Entry] = []
        self._session = session

    def read(self, ids: Iterable[int]) -> None:
        """Take these findings in; those that are gone are left out."""
        wanted = sorted(set(ids) - self.findings.keys())
        for start in range(0, len(wanted), ROWS_AT_ONCE):
            query = select(Finding).where(col(Finding.id).in_(wanted[start : start + ROWS_AT_ONCE]))
            self.findings.update((_id(finding), finding) for finding in self._session.exec(query))

    def open(self, findings: Sequence[Finding]) -> None:
        """Store new findings: they get their ids here."""
        self._session.add_all(findings)
        self._session.flush()
        for finding in findings:
            self.findings[_id(finding)] = finding
            self._note(finding, Change.OPENED)

    def reopen(self, finding_id: int, anew: Finding) -> None:
        """It has come back soon after its end, as `anew` tells: the same finding, once more."""
        finding = self.findings[finding_id]
        for name in _TAKEN_OVER:
            setattr(finding, name, getattr(anew, name))
        finding.ended_at_ms = None
        finding.openings += 1
        self._note(finding, Change.REOPENED)

    def retell(self, finding_id: int, anew: Finding) -> None:
        """It says what `anew` says, and is no other finding for it."""
        finding = self.findings[finding_id]
        for name in _TAKEN_OVER:
            setattr(finding, name, getattr(anew, name))

    def end(self, finding_id: int) -> None:
        finding = self.findings[finding_id]
        finding.ended_at_ms = self.now_ms
        finding.muted_by = None
        self._note(finding, Change.ENDED)

    def fold(self, finding_id: int, into: int) -> None:
        finding = self.findings[finding_id]
        if finding.folded_into != into:
            finding.folded_into = into
            self._note(finding, Change.FOLDED)

    def unfold(self, finding_id: int) -> None:
        finding = self.findings[finding_id]
        if finding.folded_into is not None:
            finding.folded_into = None
            self._note(finding, Change.UNFOLDED)

    def mute(self, finding_id: int, mute_id: int, by: str | None, reason: str) -> None:
        """Planned work covers it. Another work in the place of one that is over is no change to anybody."""
        finding = self.findings[finding_id]
        if finding.muted_by is None:
            self._note(finding, Change.MUTED, by, reason)
        finding.muted_by = mute_id

    def unmute(self, finding_id: int, by: str | None) -> None:
        finding = self.findings[finding_id]
        finding.muted_by = None
        self._note(finding, Change.UNMUTED, by)

    def acknowledge(self, finding_id: int, by: str | None, note: str | None) -> None:
        finding = self.findings[finding_id]
        finding.acknowledged_at_ms, finding.acknowledged_by = self.now_ms, by
        finding.note = note or finding.note
        self._note(finding, Change.ACKNOWLEDGED, by, note)

    def add_note(self, finding_id: int, by: str | None, text: str) -> None:
        finding = self.findings[finding_id]
        finding.note = text
        self._note(finding, Change.NOTED, by, text)

    def close(self) -> None:
        """Write the history, at once: thousands of boards can go silent together, and the fleet loop waits."""
        if self.entries:
            rows = [
                {
                    "venue": self.findings[entry.finding].venue,
                    "finding": entry.finding,
                    "at_ms": self.now_ms,
                    "change": entry.change,
                    "by": entry.by,
                    "note": entry.note,
                }
                for entry in self.entries
            ]
            self._session.execute(insert(FindingChange), rows)

    def _note(self, finding: Finding, change: Change, by: str | None = None, note: str | None = None) -> None:
        self.entries.append(Entry(_id(finding), change, by, note))


def _id(finding: Finding) -> int:
    assert finding.id is not None  # noqa: S101 (the row is stored)
    return finding.id
