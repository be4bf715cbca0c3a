"""What the rollout machine tells its surroundings to do, in this order; what it needs kept is saved before the rest."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class NodeRefusal:
    """Why a node keeps a rollout from being taken, or is left out of it."""

    node: str
    field: str
    reason: str
    remedy: str


@dataclass(frozen=True, slots=True)
class PublishDesired:
    """Publish the node's document of this revision, without a take time."""

    node: str


@dataclass(frozen=True, slots=True)
class StepChanged:
    """The machine's `state` or `paused` is another: save it."""


@dataclass(frozen=True, slots=True)
class BatchTaken:
    """Decided: save its show time before anything else, then publish the take. It is never called back."""

    batch: int
    at_s: float


@dataclass(frozen=True, slots=True)
class PublishTake:
    """Publish `all/take`, for the first time or again."""


@dataclass(frozen=True, slots=True)
class RolloutEnded:
    """The show time of the last take is past, and nothing is watched any more: the next rollout may start."""


@dataclass(frozen=True, slots=True)
class RolloutHalted:
    """It goes no further. Batches that were taken keep the revision; with `revert` they are to be put back."""

    why: str
    refusals: tuple[NodeRefusal, ...]
    revert: bool


Action = PublishDesired | StepChanged | BatchTaken | PublishTake | RolloutEnded | RolloutHalted
