"""What rules see of their subject at the moment of a judgement. Times are show time, seconds."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from typing import Final

from hub.fleet.state import NodeState, Stranger
from hub.health.rise import Rise
from schemas import BoardFigures, Telemetry

ERRORS_OF_S: Final = 300.0
DROPPED_OF_S: Final = 300.0


@dataclass(slots=True)
class LinkSight:
    """The hub's own link to the broker: up since when, or None; and when it last came up, newest last."""

    up_at_s: float | None = None
    ups_s: Sequence[float] = ()


@dataclass(slots=True)
class NodeSight:
    """A node, what it told before its newest telemetry, the errors that its agent logged lately, and the moment.

    `board` is what the board says of itself, while the node is there to say it. All of it is as of the last `look`.
    """

    node: NodeState
    known_since_s: float
    now_s: float
    link: LinkSight
    desired_revision: Callable[[str, str], int | None]
    told: Telemetry | None = None
    before: Telemetry | None = None
    board: BoardFigures | None = None
    errors: Rise = field(default_factory=lambda: Rise(ERRORS_OF_S))

    def look(self, now_s: float) -> None:
        """Take in the moment, and the newest telemetry if there is one since the last look."""
        self.now_s = now_s
        told = self.node.telemetry
        board = None if told is None else told.board
        if told is not self.told:
            self.before, self.told = self.told, told
            if board is not None:
                self.errors.note(now_s, board.errors)
        self.board = board if self.node.online else None


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


@dataclass(frozen=True, slots=True)
class StrangerSight:
    """Somebody on the topic of a node that the inventory does not name; None if nobody has been heard there lately."""

    name: str
    heard: Stranger | None
    now_s: float
    link: LinkSight


@dataclass(frozen=True, slots=True)
class VenueSight:
    """All nodes of a venue, and how many messages the hub itself dropped lately, of whatever venue."""

    nodes: Collection[NodeState]
    dropped_lately: int = 0
