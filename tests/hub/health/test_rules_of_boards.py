"""The rules of what a board says of itself: a healthy node, one thing changed per case."""

from typing import Any

import pytest

from hub.health.kinds import FindingKind
from hub.health.rule import GOOD, UNKNOWN, Fault
from hub.health.rules.book import OF_NODES
from tests.hub.health.sights import node, sight, sight_of, told

Kind = FindingKind


@pytest.mark.parametrize("kind", OF_NODES)
@pytest.mark.parametrize("open_now", [False, True])
def test_nothing_is_wrong_with_a_healthy_node(kind: FindingKind, open_now: bool) -> None:
    assert OF_NODES[kind](sight(node(), desired=3), open_now=open_now) is GOOD


@pytest.mark.parametrize(
    ("kind", "board", "changes", "while_closed", "while_open"),
    [
        (Kind.HOT, {}, {"temperature_c": 79.9}, False, True),
        (Kind.HOT, {}, {"temperature_c": 80.0}, True, True),
        (Kind.HOT, {}, {"temperature_c": 74.9}, False, False),
        (Kind.HOT, {"throttled": True}, {"temperature_c": 71.0}, True, True),
        (Kind.HOT, {"throttled": True}, {"temperature_c": 45.0}, False, False),
        (Kind.THROTTLED, {"throttled": True}, {"temperature_c": 45.0}, True, True),
        (Kind.THROTTLED, {"throttled": True}, {"temperature_c": None}, True, True),
        (Kind.THROTTLED, {"throttled": True}, {"temperature_c": 71.0}, False, False),
        (Kind.THROTTLED, {"throttled": True, "under_voltage": True}, {}, False, False),
        (Kind.UNDER_VOLTED, {"under_voltage": True}, {}, True, True),
        (Kind.DISK_FULL, {"disk_free_share": 0.049}, {}, True, True),
        (Kind.DISK_FULL, {"disk_free_share": 0.06}, {}, False, True),
        (Kind.DISK_WORN, {"disk_worn_share": 0.8}, {}, False, False),
        (Kind.DISK_WORN, {"disk_worn_share": 0.9}, {}, True, True),
        (Kind.DISK_WORN, {"disk_read_only": True}, {}, True, True),
        (Kind.DISK_WORN, {"disk_read_only": True, "disk_worn_share": None}, {}, True, True),
        (Kind.MEMORY_LOW, {"memory_free_share": 0.049}, {}, True, True),
        (Kind.MEMORY_LOW, {"memory_free_share": 0.09}, {}, False, True),
        (Kind.WEAK_SIGNAL, {"signal_dbm": -75.1}, {}, True, True),
        (Kind.WEAK_SIGNAL, {"signal_dbm": -73.0}, {}, False, True),
        (Kind.WEAK_SIGNAL, {"signal_dbm": -90.0, "link": "wired"}, {}, False, False),
    ],
)
def test_figure_beyond_its_limit_is_a_fault(
    kind: FindingKind, board: dict[str, Any], changes: dict[str, Any], while_closed: bool, while_open: bool
) -> None:
    seen = sight_of(board, **changes)
    for open_now, faulty in ((False, while_closed), (True, while_open)):
        outcome = OF_NODES[kind](seen, open_now=open_now)
        assert outcome.node == "bay-01" if isinstance(outcome, Fault) else outcome is GOOD
        assert isinstance(outcome, Fault) is faulty


OF_BOARDS = [
    Kind.HOT,
    Kind.THROTTLED,
    Kind.UNDER_VOLTED,
    Kind.DISK_FULL,
    Kind.DISK_WORN,
    Kind.MEMORY_LOW,
    Kind.WEAK_SIGNAL,
    Kind.ERRORS_LOGGED,
]


@pytest.mark.parametrize("kind", OF_BOARDS)
def test_board_that_does_not_tell_is_neither_well_nor_ill(kind: FindingKind) -> None:
    tells_nothing = dict.fromkeys(
        (
            "memory_free_share",
            "disk_free_share",
            "disk_worn_share",
            "disk_read_only",
            "under_voltage",
            "throttled",
            "link",
            "signal_dbm",
        )
    )
    if kind is not Kind.ERRORS_LOGGED:
        assert OF_NODES[kind](sight_of(tells_nothing, temperature_c=None), open_now=True) is UNKNOWN
    without = node()
    without.telemetry = told(temperature_c=None).model_copy(update={"board": None})
    assert OF_NODES[kind](sight(without), open_now=True) is UNKNOWN
    off = node(online=False)
    off.telemetry = told({"under_voltage": True, "throttled": True, "disk_read_only": True}, temperature_c=99.0)
    assert OF_NODES[kind](sight(off), open_now=True) is UNKNOWN, "old figures of a node that is off"


def test_errors_count_only_while_they_are_new() -> None:
    state = node()
    state.telemetry = None
    seen = sight(state)
    verdicts: list[bool] = []
    # Forty before the hub listened; three within a minute; then none; then the agent starts anew and counts from zero.
    for now_s, errors in ((0.0, 40), (30.0, 41), (60.0, 43), (400.0, 43), (800.0, 43), (1_100.0, 43), (1_105.0, 2)):
        state.telemetry = told({"errors": errors})
        seen.look(now_s)
        verdicts.append(isinstance(OF_NODES[Kind.ERRORS_LOGGED](seen, open_now=False), Fault))
    assert verdicts == [False, False, True, True, False, False, False]


def test_telemetry_is_lost_beyond_a_tenth_and_not_by_a_few() -> None:
    lost_telemetry = OF_NODES[Kind.LOST_TELEMETRY]
    state = node()
    for number in range(100):
        state.arrivals.add(number * 5.0, lost=1 if number in (20, 60) else 0)
    state.sequence_gaps = 2
    assert lost_telemetry(sight(state, now_s=500.0), open_now=False) is GOOD, "2 of 102: the network is sound"
    for number in range(100, 120):
        state.arrivals.add(number * 5.0, lost=1)
    state.sequence_gaps = 22
    outcome = lost_telemetry(sight(state, now_s=600.0), open_now=False)
    assert isinstance(outcome, Fault)
    assert outcome.evidence["lost"] == 22
    state.online = False
    assert lost_telemetry(sight(state, now_s=600.0), open_now=True) is UNKNOWN


def test_two_messages_lost_of_few_are_no_fault() -> None:
    state = node()
    state.arrivals.add(0.0, lost=0)
    state.arrivals.add(5.0, lost=2)
    state.sequence_gaps = 1
    assert OF_NODES[Kind.LOST_TELEMETRY](sight(state, now_s=6.0), open_now=False) is GOOD
