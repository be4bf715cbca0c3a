"""A node that says nothing is asked before it is presumed dead."""

import pytest

from hub.fleet.lifeline import Lifeline
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from schemas import Leaf
from tests.hub.fleet.test_awareness import born

INTERVAL_S = 5.0
HEARD_S = 100.0


class Deaths:
    """A fleet listener that remembers who was taken for dead."""

    def __init__(self) -> None:
        self.nodes: list[str] = []

    def node_changed(self, node: NodeState, _leaf: Leaf, _now_s: float) -> None:
        self.nodes.append(node.node)

    def link_changed(self, connected: bool, now_s: float) -> None:
        pass

    def tick(self, now_s: float) -> None:
        pass


@pytest.mark.parametrize(
    ("silent_s", "asked", "dead"),
    [(11.0, False, False), (11.6, True, False), (15.0, True, False), (15.6, True, True)],
    ids=["one word lost", "two overdue", "three intervals", "longer"],
)
def test_node_is_asked_before_it_is_presumed_dead(silent_s: float, asked: bool, dead: bool) -> None:
    loop, deaths = FleetLoop(), Deaths()
    lifeline = Lifeline(loop, INTERVAL_S)
    loop.add_listener(deaths, (Leaf.PRESENCE,))
    node = born()
    loop.state.nodes[node.key] = node
    lifeline.link_changed(True, 10.0)
    for step in range(int(silent_s * 10) + 1):
        lifeline.tick(HEARD_S + step / 10)
    assert (node.needs_rebirth, node.key in loop.state.doubtful) == (asked, asked)
    assert (deaths.nodes, node.online) == ([node.node] if dead else [], not dead)
