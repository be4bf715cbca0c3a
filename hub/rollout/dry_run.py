"""A rollout that is only reckoned: which nodes, in which batches, and what would differ on each. Nothing is sent."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from typing import Final

from pydantic import BaseModel, Field

from hub.desired.difference import body_difference
from hub.rollout.plan import RolloutPlan, batches_of
from hub.rollout.selection import select_nodes
from hub.rollout.snapshot import Prepared
from schemas import DesiredBody, Venue, shown_at

NOT_KNOWN_BEFORE: Final = (
    "A board judges its document itself when it stages it: what it refuses (a pin that it does not have, more than it "
    "can render) is known only then."
)


class DryNode(BaseModel):
    """What would differ on a node; an empty list where nothing does."""

    node: str
    online: bool
    batch: int | None = Field(description="Counted from 1; null for a node that is not selected.")
    wiring: list[str]
    budgets: list[str]
    scenes: list[str]
    timetable: list[str]
    showing: str | None = Field(description="From which scene to which; null where it stays the same.")


class DryBatch(BaseModel):
    """Nodes that would take at one instant."""

    nodes: int
    online: int


class DryRun(BaseModel):
    """What a plan would do, as things stand."""

    said: list[str] = Field(description="What to know before it is started, a sentence each.")
    batches: list[DryBatch]
    quorum_met: bool
    nodes: list[DryNode] = Field(description="In the venue's order; nodes that nothing would change on are left out.")
    nodes_unchanged: int
    leaving: list[str] = Field(description="Nodes that show something now and would not be part of the venue.")


@dataclass(frozen=True, slots=True)
class Situation:
    """What a dry run is reckoned against."""

    online: frozenset[str]
    under_way: int | None
    """The revision of a rollout that is under way."""
    flashes: str | None
    """What the flash check says of the scene, where it fails or was not made yet."""
    now_ms: int


def dry_run(
    venue: Venue,
    plan: RolloutPlan,
    prepared: Prepared,
    held: Callable[[str], DesiredBody | None],
    showing: Collection[str],
    situation: Situation,
) -> DryRun:
    """Reckon `plan`, which was compiled as `prepared`, against what nodes hold.

    `held(node)` is what a node is to show now; `showing` are all nodes that are to show something. Raises InvalidError
    for a selection that names what there is not.
    """
    selected = select_nodes(venue, plan.select)
    batches = batches_of(selected, plan.batches)
    batch_of = {node: number for number, nodes in enumerate(batches, 1) for node in nodes}
    nodes: list[DryNode] = []
    for node, compiled in prepared.documents.items():
        one = _node(node, held(node), compiled.body, batch_of.get(node), situation)
        if one.wiring or one.budgets or one.scenes or one.timetable or one.showing is not None:
            nodes.append(one)
    online = sum(node in situation.online for node in selected)
    met = online >= plan.quorum_share * len(selected)
    return DryRun(
        said=list(_said(venue, plan, batches, online, situation, met=met)),
        batches=[DryBatch(nodes=len(b), online=sum(node in situation.online for node in b)) for b in batches],
        quorum_met=met,
        nodes=nodes,
        nodes_unchanged=len(prepared.documents) - len(nodes),
        leaving=sorted(set(showing) - prepared.documents.keys()),
    )


def _node(
    node: str, before: DesiredBody | None, after: DesiredBody, batch: int | None, situation: Situation
) -> DryNode:
    difference = body_difference(before, after, situation.now_ms)
    was = None if before is None else shown_at(before, situation.now_ms).scene
    becomes = after.showing if batch is not None else shown_at(after, situation.now_ms).scene
    return DryNode(
        node=node,
        online=node in situation.online,
        batch=batch,
        wiring=list(difference.wiring),
        budgets=list(difference.budgets),
        scenes=list(difference.scenes),
        timetable=list(difference.timetable),
        showing=None if before is not None and was == becomes else f"{_scene(was)} -> {_scene(becomes)}",
    )


def _scene(scene: str | None) -> str:
    return "darkness" if scene is None else f"scene {scene}"


def _said(
    venue: Venue,
    plan: RolloutPlan,
    batches: tuple[tuple[str, ...], ...],
    online: int,
    situation: Situation,
    *,
    met: bool,
) -> Iterator[str]:
    selected = sum(len(nodes) for nodes in batches)
    off = selected - online
    yield (
        f"{_scene(plan.scene)} on {selected} of {len(venue.nodes)} nodes, in "
        f"{'one batch' if len(batches) == 1 else f'{len(batches)} batches'}"
        + (f"; {off} of them {'is' if off == 1 else 'are'} off and will follow on return" if off else "")
    )
    if not met:
        yield f"It would not start: {online} of {selected} are online, and {plan.quorum_share:.0%} must be"
    if situation.under_way is not None:
        then = "it would wait for that one's end" if plan.queue else "it would be refused until that one has ended"
        yield f"Revision {situation.under_way} is under way: {then}"
    if venue.approves_rollouts:
        yield "It would wait until a second person approves it"
    if situation.flashes is not None:
        confirmed = f"; {plan.flash_confirmed_by} confirms it" if plan.flash_confirmed_by else ""
        yield f"The scene {situation.flashes}{confirmed}"
    yield NOT_KNOWN_BEFORE
