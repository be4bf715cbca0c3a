"""What rules see of a node and of a supply at the moment of a judgement."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from hub.fleet.state import NodeState
from schemas import Telemetry


@dataclass(slots=True)
class NodeSight:
    """A node, what it told before its newest telemetry, and the moment. Times are show time, seconds.

    `link_up_at_s` is None while the hub itself has no link to the broker.
    """

    node: NodeState
    known_since_s: float
    now_s: float
    link_up_at_s: float | None
    desired_revision: Callable[[str, str], int | None]
    told: Telemetry | None = None
    before: Telemetry | None = None

    def look(self, now_s: float, link_up_at_s: float | None) -> None:
        """Take in the moment, and the newest telemetry if there is one since the last look."""
        self.now_s, self.link_up_at_s = now_s, link_up_at_s
        if self.node.telemetry is not self.told:
            self.before, self.told = self.told, self.node.telemetry


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a node draws from a supply and how far its limiter dims for it, as it told; None where it holds no grant."""

    node: str
    amps: float
    limiter_scale: float
    granted_a: float | None = None


@dataclass(frozen=True, slots=True)
class SupplySight:
    """A supply's budget and who draws from it by fresh telemetry; `fresh` tells whether that is all of its nodes.

    A sum with nodes missing can prove too much, but never enough.
    """

    budget_a: float
    drawing: Sequence[Drawing]
    fresh: bool
