"""What a node's newest births tell: boots anew, boots that came back after another, connections of the same boot."""

import math
from collections.abc import Sequence
from typing import Final

from hub.fleet.lifeline import RECONNECT_GRACE_S
from hub.fleet.state import MAX_BOOTS, NodeState

WINDOW_S: Final = 600.0
"""How far back births count."""
_CLOCKS_AGREE_S: Final = 2.0
"""A birth may be stamped a moment before the hub's own link is known to be up."""


def boots_anew(node: NodeState, now_s: float) -> int:
    """Boots that the hub had not met before; the first that it met at all may have begun long ago."""
    known = _met_before(node)
    return sum(
        not known[index] and _lately(boot.at_s, now_s)
        for index, boot in enumerate(node.boots)
        if index > 0 or len(node.boots) == MAX_BOOTS
    )


def boots_that_came_back(node: NodeState, now_s: float) -> int:
    """A board that starts anew has a new id, for ever: an id that comes back belongs to another board."""
    known = _met_before(node)
    return sum(known[index] and _lately(boot.at_s, now_s) for index, boot in enumerate(node.boots))


def connections_of_same_boot(node: NodeState, now_s: float, link_ups_s: Sequence[float]) -> int:
    """Connections that no new boot explains, nor the hub's own link: when that comes back, so do the nodes."""
    known_from_s = node.boots[0].at_s if len(node.boots) == MAX_BOOTS else -math.inf
    by_boots = {boot.at_s for boot in node.boots}
    return sum(
        at_s >= known_from_s and at_s not in by_boots and _lately(at_s, now_s) and not _explained(at_s, link_ups_s)
        for at_s in node.connections
    )


def _met_before(node: NodeState) -> list[bool]:
    met: set[str] = set()
    known = []
    for boot in node.boots:
        known.append(boot.boot_id in met)
        met.add(boot.boot_id)
    return known


def _lately(at_s: float, now_s: float) -> bool:
    return 0 <= now_s - at_s <= WINDOW_S


def _explained(at_s: float, link_ups_s: Sequence[float]) -> bool:
    return any(up_s - _CLOCKS_AGREE_S <= at_s <= up_s + RECONNECT_GRACE_S for up_s in link_ups_s)
