"""How a scene is to be rolled out, as a person plans it: on which nodes, in which batches, and what stops it."""

import math
from itertools import pairwise
from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

from schemas.bounds import MAX_NODES, MAX_ZONES
from schemas.contract import Contract, Id, PersonName, ShowTimeMs
from schemas.fade import FadeMs

DEFAULT_FADE_MS: Final = 1_500
MAX_BATCHES: Final = 20
MAX_SOAK_S: Final = 86_400
Share = Annotated[float, Field(ge=0, le=1)]


class Selection(Contract):
    """Nodes by id, by zone (those with pixels in it) and by tag, all of them together; nothing named is every node."""

    nodes: Annotated[tuple[Id, ...], Field(max_length=MAX_NODES)] = ()
    zones: Annotated[tuple[Id, ...], Field(max_length=MAX_ZONES)] = ()
    tags: Annotated[tuple[Id, ...], Field(max_length=256)] = ()

    @property
    def everything(self) -> bool:
        return not (self.nodes or self.zones or self.tags)


class BatchSize(Contract):
    """How far a batch reaches, counted from the first selected node: so many nodes, or a share of them."""

    nodes: Annotated[int | None, Field(ge=1, le=MAX_NODES)] = None
    share: Annotated[float | None, Field(gt=0, le=1)] = None

    @model_validator(mode="after")
    def _states_one_size(self) -> "BatchSize":
        if (self.nodes is None) == (self.share is None):
            raise ValueError("a batch states its size by `nodes` or by `share`, and not by both")
        return self


class HealthGates(Contract):
    """What must hold on the nodes of a batch while it soaks; else the rollout fails."""

    no_new_findings: Annotated[bool, Field(description="No finding opened on them since their take.")] = True
    limiter_scale_at_least: Annotated[
        Share | None, Field(description="The budget limiter may not dim a supply below this scale.")
    ] = None
    frame_rate_share_at_least: Annotated[
        Share | None, Field(description="Frame rate over the rate that the wires allow.")
    ] = None


class RolloutPlan(Contract):
    """A scene for the selected nodes. Without `batches` all of them take it at one instant."""

    scene: Annotated[Id | None, Field(description="Null is darkness.")]
    fade_ms: FadeMs = DEFAULT_FADE_MS
    flash_confirmed_by: Annotated[
        PersonName | None,
        Field(description="Who confirms that the scene may go out although it fails the flash check; else not needed."),
    ] = None
    select: Selection = Selection()
    batches: Annotated[
        tuple[BatchSize, ...],
        Field(
            max_length=MAX_BATCHES,
            description="Each reaches further than the one before; whatever is left is the last. "
            "A canary first: [{nodes: 1}, {share: 0.25}].",
        ),
    ] = ()
    soak_s: Annotated[
        float, Field(ge=0, le=MAX_SOAK_S, description="How long each batch, the last too, is watched after its take.")
    ] = 0.0
    gates: HealthGates = HealthGates()
    quorum_share: Annotated[
        Share, Field(description="Of the selected nodes, so many must be online, or nothing is taken.")
    ] = 0.0
    failures_share: Annotated[
        Share,
        Field(description="Of a batch, so many may refuse or not answer; they are left out, and follow when they can."),
    ] = 0.0
    on_failure: Annotated[
        Literal["revert", "hold"],
        Field(description="After a failure: take the batches that changed back, or leave them for a person to judge."),
    ] = "revert"
    take_at_ms: Annotated[
        ShowTimeMs | None, Field(description="Show time of the first batch's take; as soon as it is staged without it.")
    ] = None
    wait_for_go: Annotated[bool, Field(description="Each batch, once staged, waits for a person's go.")] = False
    queue: Annotated[bool, Field(description="Wait while another rollout is under way; else that is a 409.")] = False

    @model_validator(mode="after")
    def _waits_for_one_thing(self) -> "RolloutPlan":
        if self.take_at_ms is not None and self.wait_for_go:
            raise ValueError("`take_at_ms` and `wait_for_go` exclude each other: state one")
        return self


def batches_of(nodes: tuple[str, ...], sizes: tuple[BatchSize, ...]) -> tuple[tuple[str, ...], ...]:
    """The selected nodes, in the venue's order, cut into batches; none is empty, and the last ends with the last node.

    A share is rounded up, so that a canary of one percent is one node.
    """
    cuts: list[int] = []
    for size in sizes:
        # Rounded first: 0.07 of 100 nodes is a hair over 7 in binary.
        reach = size.nodes or math.ceil(round((size.share or 0.0) * len(nodes), 9))
        if reach > (cuts[-1] if cuts else 0):
            cuts.append(min(reach, len(nodes)))
    bounds = [0, *(cut for cut in cuts if cut < len(nodes)), len(nodes)]
    return tuple(nodes[first:last] for first, last in pairwise(bounds) if last > first)
