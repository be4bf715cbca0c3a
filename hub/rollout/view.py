"""A rollout as API, events and command line show it. Made of its row alone: times are absolute, never "left"."""

import json
from collections.abc import Iterable
from dataclasses import asdict
from typing import Final, Literal

from pydantic import BaseModel, Field, TypeAdapter

from hub.rollout.machine_actions import NodeRefusal
from hub.rollout.models import UNDER_WAY, Rollout, RolloutState
from hub.rollout.plan import RolloutPlan

FIRST_NODES: Final = 5
STEP_MS: Final = 2_000
"""What staging a batch and the lead of its take are expected to cost."""
BatchState = Literal["waiting", "staging", "staged", "soaking", "taken", "halted"]
WaitsFor = Literal["approval", "its turn", "go", "its take time", "resume"]

_REFUSALS = TypeAdapter(list["RefusalView"])
_BATCHES = TypeAdapter(list[list[str]])
_TIMES = TypeAdapter(list[int])


class RefusalView(BaseModel):
    """Why a node kept the rollout from being taken, or was left out of it."""

    node: str
    field: str = Field(description="Where in the node's document, or what the node failed to say.")
    reason: str
    remedy: str


class BatchView(BaseModel):
    """Nodes that take at one instant."""

    state: BatchState
    nodes: int
    first_nodes: list[str] = Field(description="The first of them by name; empty where the batch is every node.")
    take_at_ms: int | None = Field(description="When they start to show it; null until that is decided.")


class RolloutView(BaseModel):
    """One revision on its way to the nodes, or how that went. Times are show time: Unix epoch, ms."""

    revision: int
    planned_as: int | None = Field(description="The revision under which it waited, where that is another.")
    scene: str | None = Field(description="Null is darkness.")
    state: RolloutState
    paused: bool
    waits_for: WaitsFor | None = Field(description="What it needs to go on; null where time or nodes are all.")
    started_at_ms: int
    ended_at_ms: int | None
    take_at_ms: int | None = Field(description="When the batch taken last starts to show it; null before the first.")
    fade_ms: int
    nodes_expected: int = Field(description="Nodes of the batch that are online; the others catch up when they return.")
    nodes_staged: int
    batches: list[BatchView]
    soak_ends_at_ms: int | None = Field(description="Until when the batch taken last is watched.")
    expected_end_at_ms: int | None = Field(description="An estimate; null while it waits for a person, or is over.")
    refusals: list[RefusalView]
    reason: str | None = Field(description="Why it was halted, reverted or paused, and what that left behind.")
    flash_confirmed_by: str | None = Field(
        description="Who confirmed that its scene may flash although it fails the flash check; null where none had to."
    )
    requested_by: str | None
    approved_by: str | None
    reverts: int | None = Field(description="The revision that this one takes back.")
    plan: RolloutPlan | None = Field(description="As a person planned it; null for a take of everything.")


def view_of(row: Rollout) -> RolloutView:
    """The row as it is shown."""
    plan = None if row.plan is None else RolloutPlan.model_validate_json(row.plan)
    soak_ms = 0 if plan is None else round(plan.soak_s * 1_000)
    batches = batches_from(row.batches)
    takes_ms = _TIMES.validate_json(row.takes_ms)
    waits_for = _waits_for(row, plan)
    soaking = row.state is RolloutState.SOAKING and takes_ms
    return RolloutView(
        revision=row.revision,
        planned_as=row.planned_as,
        scene=row.scene,
        state=row.state,
        paused=row.paused,
        waits_for=waits_for,
        started_at_ms=row.started_at_ms,
        ended_at_ms=row.ended_at_ms,
        take_at_ms=row.take_at_ms,
        fade_ms=row.fade_ms,
        nodes_expected=row.nodes_expected,
        nodes_staged=row.nodes_staged,
        batches=_batch_views(row, batches, takes_ms),
        soak_ends_at_ms=takes_ms[-1] + soak_ms if soaking else None,
        expected_end_at_ms=_expected_end_ms(row, plan, len(batches) or 1, takes_ms) if waits_for is None else None,
        refusals=_REFUSALS.validate_json(row.refusals),
        reason=row.reason,
        flash_confirmed_by=row.flash_confirmed_by,
        requested_by=row.requested_by,
        approved_by=row.approved_by,
        reverts=row.reverts,
        plan=plan,
    )


def refusals_json(refusals: Iterable[NodeRefusal]) -> str:
    """Refusals as the row keeps them."""
    return json.dumps([asdict(refusal) for refusal in refusals])


def batches_from(text: str) -> tuple[tuple[str, ...], ...]:
    """Batches as the row keeps them; () is one of every node."""
    return tuple(tuple(nodes) for nodes in _BATCHES.validate_json(text))


def takes_from(text: str) -> tuple[int, ...]:
    """Take times of batches, ms, as the row keeps them."""
    return tuple(_TIMES.validate_json(text))


def _waits_for(row: Rollout, plan: RolloutPlan | None) -> WaitsFor | None:
    if row.state is RolloutState.PLANNED:
        return "approval" if row.awaits_approval and row.approved_by is None else "its turn"
    if row.state not in UNDER_WAY:
        return None
    if row.paused:
        return "resume"
    if row.state is RolloutState.STAGED:
        return "go" if plan is not None and plan.wait_for_go else "its take time"
    return None


def _batch_views(row: Rollout, batches: tuple[tuple[str, ...], ...], takes_ms: list[int]) -> list[BatchView]:
    sizes = [(len(nodes), list(nodes[:FIRST_NODES])) for nodes in batches] or [(row.nodes_expected, [])]
    return [
        BatchView(
            state=_batch_state(row.state, place, len(takes_ms)),
            nodes=nodes,
            first_nodes=first,
            take_at_ms=takes_ms[place] if place < len(takes_ms) else None,
        )
        for place, (nodes, first) in enumerate(sizes)
    ]


def _batch_state(state: RolloutState, place: int, taken: int) -> BatchState:
    if place < taken:
        return "soaking" if state is RolloutState.SOAKING and place == taken - 1 else "taken"
    if place > taken or state in (RolloutState.PLANNED, RolloutState.SOAKING):
        return "waiting"
    match state:
        case RolloutState.STAGING:
            return "staging"
        case RolloutState.STAGED:
            return "staged"
        case _:
            return "halted"


def _expected_end_ms(row: Rollout, plan: RolloutPlan | None, batches: int, takes_ms: list[int]) -> int | None:
    if row.state not in UNDER_WAY:
        return None
    soak_ms = 0 if plan is None else round(plan.soak_s * 1_000)
    so_far_ms = takes_ms[-1] + soak_ms if takes_ms else row.started_at_ms
    if not takes_ms and plan is not None and plan.take_at_ms is not None:
        so_far_ms = max(so_far_ms, plan.take_at_ms - STEP_MS)
    return so_far_ms + (batches - len(takes_ms)) * (STEP_MS + soak_ms)
