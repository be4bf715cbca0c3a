"""Which revision each node of a venue is to show: the one in force, or that of a rollout in batches that it has taken.

Pure. A venue stands between two revisions only while a rollout in batches is under way, or after one was halted.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from hub.rollout.models import Rollout
from hub.rollout.snapshot import InForce, Prepared
from hub.rollout.view import batches_from, takes_from
from schemas import Held, TakeTime


@dataclass(frozen=True, slots=True)
class Standing:
    """`before` shows until the take of `in_force`; `ahead` holds nodes of batches that were taken of another."""

    in_force: InForce | None = None
    before: InForce | None = None
    ahead: Mapping[str, InForce] = field(default_factory=dict)

    def follows(self, node: str) -> InForce | None:
        """What the node is to show; its take may still lie ahead. None where that is nothing."""
        followed = self.ahead.get(node, self.in_force)
        return followed if followed is not None and node in followed.prepared.documents else None

    def wanted(self) -> dict[str, Held]:
        """What each node is to report."""
        common = {} if self.in_force is None else self.in_force.prepared.wanted(self.in_force.revision)
        return common | {
            node: held for node, followed in self.ahead.items() if (held := followed.held_by(node)) is not None
        }

    def nodes(self) -> frozenset[str]:
        """Every node that is to show something."""
        common = frozenset() if self.in_force is None else self.in_force.prepared.documents.keys()
        return frozenset(common) | self.ahead.keys()

    def with_batch(self, row: Rollout, prepared: Prepared) -> "Standing":
        """The batch of the row taken last is ahead too."""
        return replace(self, ahead={**self.ahead, **ahead_of(row, prepared)})

    def with_in_force(self, in_force: InForce) -> "Standing":
        """All nodes are of one revision again."""
        return Standing(in_force, self.in_force)


@dataclass(frozen=True, slots=True)
class Left:
    """What an earlier run of the hub left: the highest number, how the venue stands, what was begun last."""

    newest: int
    standing: Standing
    begun: Rollout | None
    prepared: Prepared | None
    """Of `begun`; None where this version of the hub cannot read it."""


def ahead_of(row: Rollout, prepared: Prepared) -> dict[str, InForce]:
    """Nodes of the batches that were taken, each with its batch's take."""
    batches, takes_ms = _batches(row, prepared), takes_from(row.takes_ms)
    ahead: dict[str, InForce] = {}
    for nodes, at_ms in zip(batches, takes_ms, strict=False):
        take = TakeTime(at_ms=at_ms, fade_ms=row.fade_ms)
        ahead |= dict.fromkeys(nodes, InForce(row.revision, prepared, take, row.flash_confirmed_by))
    return ahead


def in_force_of(row: Rollout, prepared: Prepared) -> InForce | None:
    """The row's revision for the whole venue, once it was taken."""
    if row.take_at_ms is None:
        return None
    take = TakeTime(at_ms=row.take_at_ms, fade_ms=row.fade_ms)
    apart: dict[str, TakeTime] = {}
    if row.batches != "[]":
        ahead = ahead_of(row, prepared)
        unchanged = TakeTime(at_ms=row.take_at_ms)
        takes = {node: ahead[node].take if node in ahead else unchanged for node in prepared.documents}
        apart = {node: one for node, one in takes.items() if one != take}
    return InForce(row.revision, prepared, take, row.flash_confirmed_by, apart)


def _batches(row: Rollout, prepared: Prepared) -> tuple[tuple[str, ...], ...]:
    return batches_from(row.batches) or (tuple(prepared.documents),)
