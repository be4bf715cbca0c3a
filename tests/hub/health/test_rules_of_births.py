"""What births tell: a board that restarts, a connection that flaps, two boards with one identity. Never two of them."""

import pytest

from hub.fleet.awareness import apply_presence
from hub.fleet.state import NodeState
from hub.health.kinds import FindingKind
from hub.health.rule import Fault
from hub.health.rules.book import OF_NODES
from tests.hub.fleet.test_awareness import presence
from tests.hub.health.sights import sight

KINDS = (FindingKind.RESTARTING, FindingKind.FLAPPING, FindingKind.DOUBLE_IDENTITY)
Births = list[tuple[float, str, int]]
A, B = "a" * 8, "b" * 8


def faults(births: Births, now_s: float, *, link_up_at_s: float = -1_000.0, open_now: bool = False) -> dict[str, Fault]:
    """By kind, after births at these times of these boots and sessions."""
    state = NodeState("arcade", "bay-01")
    for at_s, boot_id, session in births:
        apply_presence(state, presence("online", session, boot_id), at_s, retained=False)
    outcomes = {
        kind: OF_NODES[kind](sight(state, now_s=now_s, link_up_at_s=link_up_at_s), open_now=open_now) for kind in KINDS
    }
    return {kind.value: outcome for kind, outcome in outcomes.items() if isinstance(outcome, Fault)}


@pytest.mark.parametrize(
    ("births", "found"),
    [
        ([(0.0, A, 1)], set()),
        ([(0.0, A, 1), (10.0, B, 1), (20.0, "c" * 8, 1)], set()),
        ([(0.0, A, 1), (10.0, B, 1), (20.0, "c" * 8, 1), (30.0, "d" * 8, 1)], {"restarting"}),
        ([(60.0 * n, A, n) for n in range(5)], {"flapping"}),
        ([(60.0 * n, A, n) for n in range(4)], set()),
        ([(10.0 * n, A, 1) for n in range(9)], set()),
        ([(10.0 * n, (A, B)[n % 2], n) for n in range(4)], {"double-identity"}),
        ([(10.0 * n, (A, B)[n % 2], n) for n in range(12)], {"double-identity"}),
        ([(0.0, A, 1), (10.0, B, 1), (11.0, A, 1), (12.0, B, 1)], {"double-identity"}),
        ([(0.0, A, 1), (10.0, B, 1), (11.0, A, 1)], set()),
    ],
    ids=[
        "one birth",
        "two restarts by whoever works there",
        "three restarts",
        "four connections after the first",
        "three",
        "reborn on request",
        "two boards in turn",
        "for long",
        "with sessions alike",
        "a birth that was late",
    ],
)
def test_births_tell_one_thing(births: Births, found: set[str]) -> None:
    assert faults(births, births[-1][0] + 1.0).keys() == found


def test_births_of_long_ago_count_no_more() -> None:
    births = [(60.0 * n, A, n) for n in range(5)]
    assert faults(births, 601.0).keys() == {"flapping"}, "the first connection counts for nothing, the others still do"
    assert faults(births, 700.0) == {}
    assert faults(births, 700.0, open_now=True).keys() == {"flapping"}, "open until it has calmed down"
    assert faults(births, 800.0, open_now=True) == {}


def test_births_of_the_future_count_for_nothing() -> None:
    """The hub's clock was set back."""
    assert faults([(10_000.0 + 60.0 * n, A, n) for n in range(9)], 5_000.0) == {}


def test_nodes_that_come_back_with_the_hubs_own_link_do_not_flap() -> None:
    births = [(0.0, A, 1), (60.0, A, 2), (120.0, A, 3), (305.0, A, 4), (309.0, A, 5)]
    assert faults(births, 310.0).keys() == {"flapping"}
    assert faults(births, 310.0, link_up_at_s=300.0) == {}
