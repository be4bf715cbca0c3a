"""What the watch looks at, and when: little, and yet no fault is missed."""

from collections.abc import Collection
from typing import Any

import pytest

from hub.fleet.state import FleetState, NodeState
from hub.health.kinds import FindingKind
from hub.health.rule import GONE, GOOD, UNKNOWN, Fault, Outcome, Subject
from hub.health.rules.silent import NEVER_HEARD_GRACE_S, RECONNECT_GRACE_S
from hub.health.rules.unknown_node import HEARD_WITHIN_S
from hub.health.watch import MAX_STRANGERS, Watch
from schemas import Leaf, Venue
from tests.hub.health.sights import node, told
from tests.hub.played_node import VALID_TELEMETRY

UP_S = 1_000.0
VENUE = Venue.model_validate_json(
    '{"id": "arcade", "title": "Arcade", "supplies": [{"id": "psu-1", "volts": 5.0, "rated_a": 4.0}]}'
)
SILENT = Subject("arcade", FindingKind.SILENT, "bay-01")
HOT = Subject("arcade", FindingKind.HOT, "bay-01")
OVERLOADED = Subject("arcade", FindingKind.OVERLOADED, "psu-1")
STRANGER = Subject("arcade", FindingKind.UNKNOWN_NODE, "bay-99")
MIXED = Subject("arcade", FindingKind.MIXED_VERSIONS, "arcade")


class Watched:
    """A watch over some nodes, which are looked at once before the test."""

    def __init__(self, *nodes: NodeState, link_up: bool = True) -> None:
        self.fleet = FleetState({one.key: one for one in nodes})
        self.asked = 0
        self.watch = Watch(5.0, self._desired_revision)
        self.watch.venue_changed(VENUE)
        if link_up:
            self.watch.link_changed(True, UP_S)
        self.at(UP_S)

    def at(self, now_s: float, *pending: Subject, open_now: Collection[Subject] = ()) -> dict[Subject, Outcome]:
        outcomes = list(self.watch.judge(self.fleet, now_s, pending, lambda subject: subject in open_now))
        assert len({subject for subject, _outcome in outcomes}) == len(outcomes), "each is told once a look"
        return dict(outcomes)

    def says(self, one: NodeState, now_s: float, board: dict[str, Any] | None = None, **changes: Any) -> None:  # noqa: ANN401
        one.telemetry, one.telemetry_at_s, one.heard_at_s = told(board, **changes), now_s, now_s
        self.watch.node_changed(one, Leaf.TELEMETRY, now_s)

    def dies(self, one: NodeState, now_s: float) -> None:
        one.online, one.died_at_s = False, now_s
        self.watch.node_changed(one, Leaf.PRESENCE, now_s)

    def _desired_revision(self, _venue: str, _node: str) -> int | None:
        self.asked += 1
        return None


def drawn(amps: float) -> list[dict[str, Any]]:
    return [VALID_TELEMETRY["supplies"][0] | {"amps": amps}]


def test_nobody_is_asked_about_a_fleet_that_says_nothing_new() -> None:
    bay = node()
    watched = Watched(bay)
    asked = watched.asked
    for look in range(100):
        assert watched.at(UP_S + 1 + look) == {}
    assert watched.asked == asked
    watched.says(bay, UP_S + 200)
    watched.says(bay, UP_S + 200.2)
    assert watched.at(UP_S + 200.3) == {}
    assert watched.asked == asked + 1, "two messages, one look"


def test_fault_is_told_at_every_look_until_it_is_gone() -> None:
    bay = node()
    watched = Watched(bay)
    watched.says(bay, UP_S + 1, temperature_c=90.0)
    for look in range(3):  # nobody takes it as pending: it could not be stored
        assert isinstance(watched.at(UP_S + 2 + look)[HOT], Fault)
    watched.says(bay, UP_S + 6, temperature_c=60.0)
    assert watched.at(UP_S + 6.5) == {HOT: GOOD}
    assert watched.at(UP_S + 7) == {}


def test_pending_subject_is_told_at_every_look_with_the_limit_for_its_end() -> None:
    bay = node()
    watched = Watched(bay)
    watched.says(bay, UP_S + 1, temperature_c=78.0)
    assert watched.at(UP_S + 2, HOT) == {HOT: GOOD}
    assert isinstance(watched.at(UP_S + 3, HOT, open_now={HOT})[HOT], Fault)
    watched.dies(bay, UP_S + 4)
    outcomes = watched.at(UP_S + 4.5, HOT, open_now={HOT})
    assert outcomes[HOT] is UNKNOWN
    assert isinstance(outcomes[SILENT], Fault)


@pytest.mark.parametrize(
    ("bay", "grace_s"),
    [
        (node(online=False, heard_at_s=UP_S - 5), RECONNECT_GRACE_S),
        (node(online=False, heard_at_s=None), NEVER_HEARD_GRACE_S),
    ],
    ids=["heard before the link came back", "never heard"],
)
def test_silence_becomes_a_fault_by_time_alone(bay: NodeState, grace_s: float) -> None:
    watched = Watched(bay)
    assert watched.at(UP_S + grace_s - 0.1) == {}
    assert isinstance(watched.at(UP_S + grace_s + 0.1)[SILENT], Fault)


def test_nobody_is_silent_while_the_hubs_own_link_is_down_and_some_are_after_it() -> None:
    bay = node()
    watched = Watched(bay)
    watched.watch.link_changed(False, UP_S + 1)
    watched.dies(bay, UP_S + 2)
    assert watched.at(UP_S + 3) == {}
    watched.watch.link_changed(True, UP_S + 1_000)
    assert watched.at(UP_S + 1_000.1, SILENT) == {SILENT: UNKNOWN}
    assert watched.at(UP_S + 1_011) == {}
    assert isinstance(watched.at(UP_S + 1_000 + RECONNECT_GRACE_S + 200)[SILENT], Fault)


def test_leap_of_time_gives_a_grace() -> None:
    bay = node(online=False)
    watched = Watched(bay)
    watched.watch.begin_anew(UP_S + 9_000)
    assert watched.at(UP_S + 9_001) == {SILENT: UNKNOWN}, "it was a fault before"
    assert isinstance(watched.at(UP_S + 9_001 + RECONNECT_GRACE_S)[SILENT], Fault)


def test_what_is_pending_about_a_node_or_supply_that_is_no_more_is_gone() -> None:
    bay = node(online=False)
    watched = Watched(bay)
    watched.fleet.set_roster("arcade", ["bay-02"])
    outcomes = watched.at(UP_S + 1, SILENT, HOT, MIXED)
    assert (outcomes[SILENT], outcomes[HOT], outcomes[MIXED]) == (GONE, GONE, GOOD)
    watched.fleet.set_roster("arcade", [])
    assert watched.at(UP_S + 2, MIXED)[MIXED] is GONE
    watched.watch.venue_changed(VENUE.model_copy(update={"supplies": ()}))
    assert watched.at(UP_S + 3, OVERLOADED) == {OVERLOADED: GONE}


def test_node_that_left_and_came_back_is_looked_at_anew() -> None:
    watched = Watched(node())
    watched.fleet.set_roster("arcade", [])
    watched.at(UP_S + 1)
    watched.fleet.set_roster("arcade", ["bay-01"])
    assert watched.at(UP_S + 2) == {}
    assert isinstance(watched.at(UP_S + 3 + NEVER_HEARD_GRACE_S)[SILENT], Fault)


def test_supply_is_judged_by_all_who_draw_from_it() -> None:
    bay, other = node(), node()
    other.node, other.key = "bay-02", ("arcade", "bay-02")
    watched = Watched(bay, other)
    watched.says(bay, UP_S + 1, supplies=drawn(1.0))
    assert watched.at(UP_S + 1.5) == {}
    watched.says(other, UP_S + 2, supplies=drawn(2.5))
    fault = watched.at(UP_S + 2.5)[OVERLOADED]
    assert isinstance(fault, Fault)
    assert fault.evidence["amps"] == 3.5
    watched.says(bay, UP_S + 3, supplies=drawn(0.5))
    assert watched.at(UP_S + 3.5) == {OVERLOADED: GOOD}
    watched.dies(other, UP_S + 4)
    assert watched.at(UP_S + 4.5, OVERLOADED, open_now={OVERLOADED})[OVERLOADED] is UNKNOWN, "nobody knows its draw"
    watched.fleet.set_roster("arcade", ["bay-01"])
    assert watched.at(UP_S + 5, OVERLOADED)[OVERLOADED] is GOOD, "nobody draws from it any more but one"


def test_unknown_node_is_told_after_a_few_words_and_until_it_is_entered() -> None:
    watched = Watched(node())
    for second in range(2):
        watched.fleet.heard_stranger(("arcade", "bay-99"), UP_S + second)
    assert watched.at(UP_S + 2) == {}, "what it said while it left was on its way"
    watched.fleet.heard_stranger(("arcade", "bay-99"), UP_S + 2)
    fault = watched.at(UP_S + 3)[STRANGER]
    assert isinstance(fault, Fault)
    assert fault.node is None
    later_s = UP_S + 2 + HEARD_WITHIN_S + RECONNECT_GRACE_S + 1
    assert watched.at(later_s, STRANGER, open_now={STRANGER}) == {STRANGER: GOOD}
    watched.fleet.heard_stranger(("arcade", "bay-99"), later_s)
    assert isinstance(watched.at(later_s + 1, STRANGER)[STRANGER], Fault)
    watched.fleet.set_roster("arcade", ["bay-01", "bay-99"])
    assert watched.at(later_s + 2, STRANGER)[STRANGER] is GONE


def test_unknown_node_of_a_hub_that_was_restarted_is_waited_for() -> None:
    watched = Watched(node())
    assert watched.at(UP_S + 1, STRANGER, open_now={STRANGER}) == {STRANGER: UNKNOWN}
    later_s = UP_S + HEARD_WITHIN_S + RECONNECT_GRACE_S + 1
    assert watched.at(later_s, STRANGER, open_now={STRANGER}) == {STRANGER: GOOD}


def test_made_up_names_are_not_all_told() -> None:
    watched = Watched(node())
    for number in range(5 * MAX_STRANGERS):
        for _ in range(3):
            watched.fleet.heard_stranger(("arcade", f"ghost-{number}"), UP_S + number * 0.001)
    named = {subject.name for subject in watched.at(UP_S + 1)}
    assert named == {f"ghost-{number}" for number in range(MAX_STRANGERS)}


def test_versions_are_compared_when_nodes_come_and_go() -> None:
    bay, other = node(), node()
    other.node, other.key = "bay-02", ("arcade", "bay-02")
    bay.agent_version, other.agent_version = "1.0.0", "1.0.0"
    watched = Watched(bay, other)
    other.agent_version = "1.1.0"
    watched.watch.node_changed(other, Leaf.PRESENCE, UP_S + 1)
    assert isinstance(watched.at(UP_S + 1.5)[MIXED], Fault)
    watched.dies(other, UP_S + 2)
    assert watched.at(UP_S + 2.5)[MIXED] is GOOD


def test_hub_that_drops_messages_says_so_of_itself_until_it_has_kept_up_for_minutes() -> None:
    overrun = Subject("arcade", FindingKind.HUB_OVERRUN, "arcade")
    watched = Watched(node())
    watched.fleet.dropped = 40
    assert watched.at(UP_S + 1)[overrun] == Fault(None, {"dropped_lately": 40})
    watched.fleet.dropped = 42
    assert watched.at(UP_S + 2, overrun, open_now=[overrun])[overrun] == Fault(None, {"dropped_lately": 42})
    for minute in range(1, 12):
        watched.says(next(iter(watched.fleet.nodes.values())), UP_S + minute * 60)
        outcome = watched.at(UP_S + minute * 60, overrun, open_now=[overrun])[overrun]
    assert outcome is GOOD
