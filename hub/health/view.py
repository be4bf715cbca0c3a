"""Findings as the API and the event stream show them."""

import json
from collections.abc import Sequence

from pydantic import BaseModel, Field

from hub.health.kinds import CauseKind, Change, FindingKind, FindingState, Severity
from hub.health.models import Finding, FindingChange
from schemas.contract import Id


class SharedCause(BaseModel):
    """What the nodes of a folded finding share."""

    kind: CauseKind
    name: Id


class FindingView(BaseModel):
    """Something wrong, told once: open while `ended_at_ms` is null."""

    id: str
    kind: FindingKind
    severity: Severity
    state: FindingState
    node: Id | None = Field(description="Where to look first; null where it is about no single node.")
    supply: Id | None
    cause: SharedCause | None = Field(description="Set on a finding that stands for those of several nodes.")
    members: list[str] = Field(description="Ids of the findings folded into this one.")
    folded_into: str | None = Field(description="The finding that stands for this one.")
    started_at_ms: int = Field(description="Show time at which the fault began, ms.")
    opened_at_ms: int = Field(description="Show time at which it was told, ms.")
    ended_at_ms: int | None = Field(description="Show time at which it was over, ms.")
    openings: int = Field(description="How often it came back: more than 1 is one finding that would not stay away.")
    evidence: dict[str, str | int | float | None] = Field(description="Figures measured when it was told.")
    message: str = Field(description="What is wrong, in one sentence.")
    likely_cause: str = Field(description="What it most likely comes from.")
    next_check: str = Field(description="What to look at first.")
    cautions: list[str] = Field(description="What to mind before any work on it.")
    acknowledged_at_ms: int | None
    acknowledged_by: str | None
    note: str | None


class FindingChangeView(BaseModel):
    """What happened to a finding. `by` is null where the hub did it, or somebody whose token has no name."""

    at_ms: int
    change: Change
    by: str | None
    note: str | None


class FindingDetail(FindingView):
    """A finding with its history, and the findings that it stands for."""

    changes: list[FindingChangeView] = Field(description="What happened to it, oldest first; the newest 500.")
    member_findings: list[FindingView]


def detail_of(finding: Finding, changes: Sequence[FindingChange], members: Sequence[Finding]) -> FindingDetail:
    view = view_of(finding, [member.id or 0 for member in members])
    return FindingDetail(
        **dict(view),
        changes=[FindingChangeView(at_ms=one.at_ms, change=one.change, by=one.by, note=one.note) for one in changes],
        member_findings=[view_of(member) for member in members],
    )


def view_of(finding: Finding, members: Sequence[int] = ()) -> FindingView:
    cause = (
        SharedCause(kind=finding.cause_kind, name=finding.cause)
        if finding.cause_kind is not None and finding.cause is not None
        else None
    )
    return FindingView(
        id=str(finding.id),
        kind=finding.kind,
        severity=finding.severity,
        state=state_of(finding),
        node=finding.node,
        supply=finding.supply,
        cause=cause,
        members=[str(one) for one in members],
        folded_into=None if finding.folded_into is None else str(finding.folded_into),
        started_at_ms=finding.started_at_ms,
        opened_at_ms=finding.opened_at_ms,
        ended_at_ms=finding.ended_at_ms,
        openings=finding.openings,
        evidence=json.loads(finding.evidence),
        message=finding.message,
        likely_cause=finding.likely_cause,
        next_check=finding.next_check,
        cautions=json.loads(finding.cautions),
        acknowledged_at_ms=finding.acknowledged_at_ms,
        acknowledged_by=finding.acknowledged_by,
        note=finding.note,
    )


def state_of(finding: Finding) -> FindingState:
    if finding.ended_at_ms is not None:
        return FindingState.ENDED
    if finding.muted_by is not None:
        return FindingState.MUTED
    return FindingState.OPEN if finding.acknowledged_at_ms is None else FindingState.ACKNOWLEDGED
