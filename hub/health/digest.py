"""The digest of a day, or of any spell of time: what is still wrong, what came and went, in sentences. Pure."""

from collections import Counter
from collections.abc import Sequence
from typing import Final

from pydantic import BaseModel, Field

from hub.health.kinds import FindingKind, FindingState, Severity
from hub.health.view import FindingView

MAX_FINDINGS_OF_A_DAY: Final = 2_000
MAX_ROWS: Final = 100
AGAIN_AND_AGAIN: Final = 3


class DigestRow(BaseModel):
    """A finding of the spell."""

    id: str
    kind: FindingKind
    severity: Severity
    state: FindingState
    message: str
    next_check: str
    started_at_ms: int
    ended_at_ms: int | None
    openings: int
    nodes: int = Field(description="How many nodes it stands for.")


class Digest(BaseModel):
    """What was wrong from `from_ms` until before `until_ms`; findings that another stands for are not counted."""

    from_ms: int
    until_ms: int
    opened: int = Field(description="Told in this time.")
    ended: int = Field(description="Over in this time.")
    still_open: int = Field(description="Open at its end.")
    sentences: list[str] = Field(description="The digest to read: the day in a few sentences.")
    rows: list[DigestRow] = Field(description="Still open first, then the worst, then the newest; at most 100.")


def digest_of(findings: Sequence[FindingView], from_ms: int, until_ms: int) -> Digest:
    """`findings`: those open at some time of the spell."""
    still = [one for one in findings if not _over(one, until_ms)]
    opened = sum(from_ms <= one.opened_at_ms < until_ms for one in findings)
    ended = len(findings) - len(still)
    ordered = sorted(
        findings, key=lambda one: (_over(one, until_ms), -one.severity.rank, -one.opened_at_ms, -len(one.members))
    )
    return Digest(
        from_ms=from_ms,
        until_ms=until_ms,
        opened=opened,
        ended=ended,
        still_open=len(still),
        sentences=_sentences(findings, still, opened, ended),
        rows=[_row(one) for one in ordered[:MAX_ROWS]],
    )


def _sentences(findings: Sequence[FindingView], still: Sequence[FindingView], opened: int, ended: int) -> list[str]:
    if not findings:
        return ["Nothing was wrong."]
    sentences = [f"{_counted(opened, 'finding')} opened, {ended} ended, {len(still)} still open."]
    alarms = [one for one in still if one.severity is Severity.ALARM]
    sentences += [f"Still wrong: {one.message}" for one in alarms]
    untouched = [one for one in still if one.state is FindingState.OPEN]
    if untouched:
        sentences.append(f"{len(untouched)} of those still open nobody has acknowledged.")
    muted = sum(one.state is FindingState.MUTED for one in still)
    if muted:
        sentences.append(f"{_counted(muted, 'finding')} muted for planned work.")
    kinds = Counter(one.kind for one in findings)
    if len(findings) > 1:
        told = ", ".join(f"{kind.value} {count}" for kind, count in kinds.most_common())
        sentences.append(f"By kind: {told}.")
    sentences += [
        f"Came back {one.openings - 1} times: {one.message}" for one in findings if one.openings >= AGAIN_AND_AGAIN
    ]
    return sentences


def _row(finding: FindingView) -> DigestRow:
    return DigestRow(
        id=finding.id,
        kind=finding.kind,
        severity=finding.severity,
        state=finding.state,
        message=finding.message,
        next_check=finding.next_check,
        started_at_ms=finding.started_at_ms,
        ended_at_ms=finding.ended_at_ms,
        openings=finding.openings,
        nodes=int(finding.evidence.get("count") or 0) if finding.cause is not None else int(finding.node is not None),
    )


def _over(finding: FindingView, until_ms: int) -> bool:
    return finding.ended_at_ms is not None and finding.ended_at_ms < until_ms


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
