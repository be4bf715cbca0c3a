"""A finding as the API and the event stream show it."""

import json

from pydantic import BaseModel, Field

from hub.health.models import Finding, FindingKind
from schemas.contract import Id


class FindingView(BaseModel):
    """Something wrong, told once: open while `ended_at_ms` is null."""

    id: str
    kind: FindingKind
    node: Id
    supply: Id | None
    started_at_ms: int = Field(description="Show time at which the fault began, ms.")
    ended_at_ms: int | None = Field(description="Show time at which it was over, ms.")
    evidence: dict[str, str | int | float | None] = Field(description="Figures measured when it was told.")
    message: str = Field(description="What is wrong, in one sentence.")
    next_check: str = Field(description="What to look at first.")


def view_of(finding: Finding) -> FindingView:
    return FindingView(
        id=str(finding.id),
        kind=finding.kind,
        node=finding.node,
        supply=finding.supply,
        started_at_ms=finding.started_at_ms,
        ended_at_ms=finding.ended_at_ms,
        evidence=json.loads(finding.evidence),
        message=finding.message,
        next_check=finding.next_check,
    )
