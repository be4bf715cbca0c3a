"""A rollout as API, events and command line show it."""

import json
from collections.abc import Iterable
from dataclasses import asdict

from pydantic import BaseModel, Field, TypeAdapter

from hub.rollout.machine import NodeRefusal
from hub.rollout.models import Rollout, RolloutState

_REFUSALS = TypeAdapter(list["RefusalView"])


class RefusalView(BaseModel):
    """Why a node kept the rollout from being taken."""

    node: str
    field: str = Field(description="Where in the node's document, or what the node failed to say.")
    reason: str
    remedy: str


class RolloutView(BaseModel):
    """One revision on its way to the nodes, or how that went. Times are show time: Unix epoch, ms."""

    revision: int
    scene: str | None = Field(description="Null is darkness.")
    state: RolloutState
    started_at_ms: int
    take_at_ms: int | None = Field(description="When every node starts to show it; null unless taken.")
    fade_ms: int
    nodes_expected: int = Field(description="Nodes that are online; the others catch up when they return.")
    nodes_staged: int
    refusals: list[RefusalView]
    reason: str | None = Field(description="Why it was halted.")
    flash_confirmed_by: str | None = Field(
        description="Who confirmed that its scene may flash although it fails the flash check; null where none had to."
    )


def view_of(row: Rollout) -> RolloutView:
    """The row as it is shown."""
    return RolloutView(
        revision=row.revision,
        scene=row.scene,
        state=row.state,
        started_at_ms=row.started_at_ms,
        take_at_ms=row.take_at_ms,
        fade_ms=row.fade_ms,
        nodes_expected=row.nodes_expected,
        nodes_staged=row.nodes_staged,
        refusals=_REFUSALS.validate_json(row.refusals),
        reason=row.reason,
        flash_confirmed_by=row.flash_confirmed_by,
    )


def refusals_json(refusals: Iterable[NodeRefusal]) -> str:
    """Refusals as the row keeps them."""
    return json.dumps([asdict(refusal) for refusal in refusals])
