"""How often a node is asked for rebirth while its birth, or the question for it, is lost."""

import itertools

from hub.fleet.loop import FleetLoop
from hub.fleet.rebirth import LONGEST_WAIT_S, SPEAKING_WAIT_S, Rebirth
from hub.fleet.state import NodeState
from schemas import Leaf

TICK_S = 0.1
KEY = ("arcade", "bay-01")


def _asked_at(*, speaks: bool, for_s: float) -> list[float]:
    """When one node is asked, its state unknown all the time; `speaks`: its words under another session come in."""
    loop = FleetLoop()
    loop.state.set_roster("arcade", ["bay-01"])
    loop.state.nodes[KEY].needs_rebirth = True
    rebirth = Rebirth(loop)
    rebirth.link_changed(True, 0.0)
    asked_at: list[float] = []
    for tick in range(round(for_s / TICK_S)):
        if speaks and tick % 10 == 0:
            loop.state.doubtful[KEY] = None
        before = rebirth.asked
        rebirth.tick(tick * TICK_S)
        asked_at += [tick * TICK_S] * (rebirth.asked - before)
    return asked_at


def test_node_that_says_nothing_is_asked_ever_more_seldom() -> None:
    asked_at = _asked_at(speaks=False, for_s=600)
    gaps = [later - earlier for earlier, later in itertools.pairwise(asked_at)]
    assert gaps == sorted(gaps)
    assert LONGEST_WAIT_S - 1 < gaps[-1] < LONGEST_WAIT_S + 1


def test_node_that_goes_on_speaking_is_asked_again_soon_for_as_long_as_it_takes() -> None:
    asked_at = _asked_at(speaks=True, for_s=600)
    gaps = [later - earlier for earlier, later in itertools.pairwise(asked_at)]
    assert max(gaps) <= SPEAKING_WAIT_S + 1.1


def test_node_whose_birth_came_is_asked_no_more() -> None:
    loop = FleetLoop()
    loop.state.set_roster("arcade", ["bay-01"])
    rebirth = Rebirth(loop)
    rebirth.link_changed(True, 0.0)
    rebirth.tick(0.0)
    rebirth.node_changed(NodeState("arcade", "bay-01"), Leaf.PRESENCE, 0.5)
    for second in range(1, 300):
        rebirth.tick(float(second))
    assert rebirth.asked == 1
