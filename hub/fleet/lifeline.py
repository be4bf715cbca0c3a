"""Presuming a node dead that no last will has told of: three telemetry intervals without a word.

A node whose second message is overdue is asked for rebirth first, so that lost messages alone make nobody dead.
"""

from typing import Final

from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from schemas import Leaf
from schemas.bounds import TELEMETRY_INTERVAL_S

MISSED_INTERVALS: Final = 3
# So long before it is presumed dead a node is asked: two messages are overdue then, whatever their jitter, and there
# is time to ask twice.
ASKED_BEFORE_INTERVALS: Final = 0.75
CHECK_EVERY_S: Final = 0.5
# After the link is back nodes reconnect with jitter; until then their silence says nothing.
RECONNECT_GRACE_S: Final = 12.0
# Ticks come ten times a second. A longer gap is a hub that stood still, or a clock that was set: nobody's silence.
LONGEST_TICK_GAP_S: Final = 3.0


def time_leapt(before_s: float | None, now_s: float) -> bool:
    """Whether show time between two ticks says nothing about how long others had to speak."""
    return before_s is not None and not 0 <= now_s - before_s <= LONGEST_TICK_GAP_S


def silent_after_s(node: NodeState, telemetry_interval_s: float) -> float:
    """How long the node may say nothing. One that holds no document yet reports at its own default interval."""
    holds_nothing = node.reported is None or (node.reported.staged is None and node.reported.showing is None)
    interval_s = max(telemetry_interval_s, TELEMETRY_INTERVAL_S) if holds_nothing else telemetry_interval_s
    return MISSED_INTERVALS * interval_s


def presumed_dead(node: NodeState, now_s: float, *, link_up_at_s: float | None, telemetry_interval_s: float) -> bool:
    """Whether an online node has been silent for too long, while it could have been heard."""
    if not node.online or node.heard_at_s is None or link_up_at_s is None:
        return False
    allowed_s = silent_after_s(node, telemetry_interval_s)
    reconnected_s = link_up_at_s + max(RECONNECT_GRACE_S, allowed_s)
    return now_s > node.heard_at_s + allowed_s and (node.heard_at_s >= link_up_at_s or now_s > reconnected_s)


class Lifeline:
    """A fleet listener: takes online nodes that went silent for offline, and tells the others."""

    def __init__(self, loop: FleetLoop, telemetry_interval_s: float) -> None:
        self._loop = loop
        self._telemetry_interval_s = telemetry_interval_s
        self._link_up_at_s: float | None = None
        self._next_check_s = 0.0
        self._ticked_s: float | None = None

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        pass

    def link_changed(self, connected: bool, now_s: float) -> None:
        self._link_up_at_s = now_s if connected else None

    def tick(self, now_s: float) -> None:
        leapt, self._ticked_s = time_leapt(self._ticked_s, now_s), now_s
        if leapt and self._link_up_at_s is not None:
            self._link_up_at_s = now_s
        if now_s < self._next_check_s and not leapt:
            return
        self._next_check_s = now_s + CHECK_EVERY_S
        soon_s = now_s + ASKED_BEFORE_INTERVALS * self._telemetry_interval_s
        for node in self._loop.state.nodes.values():
            if not self._presumed_dead(node, soon_s):
                continue
            if self._presumed_dead(node, now_s):
                node.online = False
                self._loop.announce(node, Leaf.PRESENCE, now_s)
            elif not node.needs_rebirth:
                node.needs_rebirth = True
                self._loop.state.doubtful[node.key] = None

    def _presumed_dead(self, node: NodeState, at_s: float) -> bool:
        return presumed_dead(
            node, at_s, link_up_at_s=self._link_up_at_s, telemetry_interval_s=self._telemetry_interval_s
        )
