"""What is to be rolled out, made ready, and the row that it becomes. Pure."""

import json
from collections.abc import Iterable
from dataclasses import dataclass

from hub.rollout.kept_choices import KeptChoices
from hub.rollout.machine import Course, RolloutMachine
from hub.rollout.machine_actions import NodeRefusal
from hub.rollout.machine_timing import RolloutTiming
from hub.rollout.models import Conduct, Rollout, RolloutState
from hub.rollout.plan import DEFAULT_FADE_MS, RolloutPlan
from hub.rollout.snapshot import InForce, Prepared
from hub.rollout.view import batches_from, refusals_json, takes_from


@dataclass(frozen=True, slots=True)
class Undertaking:
    """`batches` () is one of every node; `back_to` 0 where `back` then finds nothing; `planned` the row that waited."""

    prepared: Prepared
    back_to: int
    fade_ms: int = DEFAULT_FADE_MS
    conduct: Conduct = Conduct.STRICT
    plan: RolloutPlan | None = None
    batches: tuple[tuple[str, ...], ...] = ()
    flash_confirmed_by: str | None = None
    requested_by: str | None = None
    reverts: int | None = None
    planned: Rollout | None = None


def taking_back(row: Rollout, in_force: InForce, back_to: int, requested_by: str | None = None) -> Undertaking:
    """Puts what is in force back on the nodes that have taken the row's revision; the others see nothing of it."""
    return Undertaking(
        in_force.prepared,
        back_to,
        fade_ms=row.fade_ms,
        conduct=Conduct.LENIENT,
        flash_confirmed_by=in_force.flash_confirmed_by,
        requested_by=requested_by,
        reverts=row.revision,
    )


def row_of(venue: str, what: Undertaking, revision: int, now_ms: int, state: RolloutState) -> Rollout:
    """A new row; one that waited keeps who asked, who approved and under which revision it was known."""
    waited = what.planned
    known_as = None if waited is None else waited.planned_as or waited.revision
    return Rollout(
        venue=venue,
        revision=revision,
        snapshot_sha256=what.prepared.snapshot_sha256,
        scene=what.plan.scene if what.plan is not None else what.prepared.scene,
        state=state,
        fade_ms=what.fade_ms,
        started_at_ms=now_ms,
        nodes_expected=0,
        flash_confirmed_by=what.flash_confirmed_by,
        plan=None if what.plan is None else what.plan.model_dump_json(),
        choices=what.prepared.kept.model_dump_json(),
        batches=json.dumps(what.batches),
        conduct=what.conduct,
        awaits_approval=waited is not None and waited.awaits_approval,
        requested_by=what.requested_by if waited is None else waited.requested_by,
        approved_by=None if waited is None else waited.approved_by,
        planned_as=None if known_as == revision else known_as,
        reverts=what.reverts,
        back_to=what.back_to,
    )


def halted_row(
    venue: str,
    revision: int,
    snapshot_sha256: str,
    kept: KeptChoices,
    now_ms: int,
    reason: str,
    refusals: Iterable[NodeRefusal],
) -> Rollout:
    """Of one that could not be begun."""
    return Rollout(
        venue=venue,
        revision=revision,
        snapshot_sha256=snapshot_sha256,
        scene=kept.common.scene,
        state=RolloutState.HALTED,
        fade_ms=DEFAULT_FADE_MS,
        started_at_ms=now_ms,
        ended_at_ms=now_ms,
        nodes_expected=0,
        choices=kept.model_dump_json(),
        reason=f"halted: {reason}; nothing changed on any node",
        refusals=refusals_json(refusals),
    )


def changed_row(row: Rollout, **facts: object) -> Rollout:
    """A new object, since other threads may be reading the row; `model_copy` would share SQLAlchemy's state with it."""
    return Rollout(**{**row.model_dump(), **facts})


def machine_of(row: Rollout, prepared: Prepared, timing: RolloutTiming) -> RolloutMachine:
    """The machine where the row says that it is."""
    plan = RolloutPlan(scene=None) if row.plan is None else RolloutPlan.model_validate_json(row.plan)
    course = Course(
        conduct=row.conduct,
        soak_s=plan.soak_s,
        quorum_share=plan.quorum_share,
        failures_share=plan.failures_share,
        take_at_s=None if plan.take_at_ms is None else plan.take_at_ms / 1_000,
        wait_for_go=plan.wait_for_go,
        revert_on_failure=plan.on_failure == "revert",
    )
    return RolloutMachine(
        row.revision,
        batches_from(row.batches) or (tuple(prepared.documents),),
        prepared.wanted(row.revision),
        timing,
        course,
        state=row.state,
        takes_s=[at_ms / 1_000 for at_ms in takes_from(row.takes_ms)],
        paused=row.paused,
    )
