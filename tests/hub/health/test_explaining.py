"""One node's faults that explain one another: which stands for which, by example and in the life of findings."""

from collections.abc import Iterator

import pytest
from sqlalchemy import Engine

from hub.health.explaining import EXPLAINED_BY, explained_kinds
from hub.health.kinds import CauseKind, FindingKind
from hub.health.rules.book import RULES
from hub.health.rules.silent import EXPLAINED_FOR_S
from hub.health.view import FindingView
from tests.hub.health.simulated_fleet import SimulatedFleet
from tests.hub.health.test_life_by_chance import NODES, VENUE

K = FindingKind
ONE = NODES[5]  # on no supply
SUPPLY = NODES[:3]
TOLD_S = 12.0
QUIET_S = 610.0


@pytest.mark.parametrize(
    ("kinds", "explained"),
    [
        ({K.SILENT}, {}),
        ({K.SILENT, K.HOT}, {}),
        ({K.SILENT, K.UNDER_VOLTED}, {}),
        ({K.SILENT, K.RESTARTING}, {K.SILENT: K.RESTARTING}),
        (
            {K.SILENT, K.RESTARTING, K.UNDER_VOLTED},
            {K.SILENT: K.UNDER_VOLTED, K.RESTARTING: K.UNDER_VOLTED},
        ),
        (
            {K.WEAK_SIGNAL, K.FLAPPING, K.LOST_TELEMETRY, K.SILENT},
            dict.fromkeys((K.FLAPPING, K.LOST_TELEMETRY, K.SILENT), K.WEAK_SIGNAL),
        ),
        ({K.HOT, K.SLOW, K.DISK_FULL}, {K.SLOW: K.HOT}),
    ],
    ids=lambda value: "+".join(sorted(value)) or "nothing",
)
def test_what_stands_for_what(kinds: set[FindingKind], explained: dict[FindingKind, FindingKind]) -> None:
    assert explained_kinds(kinds) == explained


def test_no_kind_explains_itself_by_way_of_others() -> None:
    assert explained_kinds(RULES).keys() == {kind for kind, by in EXPLAINED_BY.items() if by}


@pytest.fixture
def fleet(engine: Engine) -> Iterator[SimulatedFleet]:
    with SimulatedFleet(engine, VENUE) as simulated:
        yield simulated


def told(fleet: SimulatedFleet) -> list[tuple[FindingKind, str | None]]:
    return [(one.kind, one.node) for one in fleet.findings(kind=None)]


def one_of(fleet: SimulatedFleet, kind: FindingKind) -> FindingView:
    (found,) = (one for one in fleet.findings(open_only=None, folded=True, kind=None) if one.kind is kind)
    return found


def changes(fleet: SimulatedFleet, kind: FindingKind) -> list[str]:
    found = fleet.health.finding(VENUE.id, int(one_of(fleet, kind).id))
    return [change.change.value for change in found.changes]


def restart_thrice(fleet: SimulatedFleet, nodes: list[str], away_s: float = 4.0) -> None:
    for _ in range(3):
        fleet.cut(nodes)
        fleet.pass_time(away_s)
        fleet.start_anew(nodes)
        fleet.pass_time(20.0)


def test_silence_of_a_node_that_restarts_is_told_as_that(fleet: SimulatedFleet) -> None:
    restart_thrice(fleet, [ONE])
    assert told(fleet) == [(K.RESTARTING, ONE)]
    fleet.cut([ONE])
    fleet.pass_time(3.0)
    silent = one_of(fleet, K.SILENT)
    assert (silent.ended_at_ms, silent.folded_into) == (None, one_of(fleet, K.RESTARTING).id)
    assert one_of(fleet, K.RESTARTING).members == [silent.id]
    assert one_of(fleet, K.RESTARTING).cause is None
    fleet.mend([ONE])
    fleet.pass_time(QUIET_S + 80.0)
    assert told(fleet) == []
    assert changes(fleet, K.SILENT).count("unfolded") == 0, "it was well as what explained it ended"


def test_node_that_restarts_and_then_stays_away_is_silent(fleet: SimulatedFleet) -> None:
    restart_thrice(fleet, [ONE])
    fleet.cut([ONE])
    fleet.pass_time(EXPLAINED_FOR_S - 5.0)
    assert told(fleet) == [(K.RESTARTING, ONE)]
    fleet.pass_time(10.0)
    assert sorted(told(fleet)) == [(K.RESTARTING, ONE), (K.SILENT, ONE)]
    assert changes(fleet, K.SILENT)[-2:] == ["folded", "unfolded"]


@pytest.mark.parametrize("away_s", [EXPLAINED_FOR_S - 60.0, EXPLAINED_FOR_S + 60.0], ids=["explained", "alone"])
def test_restarted_hub_knows_what_explained_what(engine: Engine, away_s: float) -> None:
    with SimulatedFleet(engine, VENUE) as fleet:
        restart_thrice(fleet, [ONE])
        fleet.cut([ONE])
        fleet.pass_time(away_s)
        before, now_s = fleet.findings(kind=None, folded=True), fleet.now_s
    with SimulatedFleet(engine, VENUE, now_s) as restarted:
        restarted.cut([ONE])
        restarted.pass_time(TOLD_S)
        assert restarted.findings(kind=None, folded=True) == before


def test_supply_whose_boards_restart_is_one_finding_and_a_second_once_it_dies(fleet: SimulatedFleet) -> None:
    restart_thrice(fleet, SUPPLY)
    (parent,) = fleet.findings(kind=None)
    assert (parent.kind, parent.cause and parent.cause.kind) == (K.RESTARTING, CauseKind.SUPPLY)
    fleet.cut(SUPPLY)
    fleet.pass_time(EXPLAINED_FOR_S - 5.0)
    everything = fleet.findings(kind=None, folded=True)
    assert [one.folded_into for one in everything if one.id != parent.id] == [parent.id] * 6
    fleet.pass_time(TOLD_S)
    assert {(one.kind, one.cause and one.cause.kind) for one in fleet.findings(kind=None)} == {
        (K.RESTARTING, CauseKind.SUPPLY),
        (K.SILENT, CauseKind.SUPPLY),
    }


def test_explained_silence_speaks_neither_for_a_supply_nor_against_it(fleet: SimulatedFleet) -> None:
    restart_thrice(fleet, SUPPLY[:1])
    fleet.cut(SUPPLY)
    fleet.pass_time(TOLD_S)
    (supply,) = (one for one in fleet.findings(kind=None) if one.cause is not None)
    silent = [one for one in fleet.findings(folded=True) if one.cause is None]
    assert {one.node for one in silent if one.folded_into == supply.id} == set(SUPPLY[1:])
    (restarting,) = (one for one in fleet.findings(kind=None) if one.kind is K.RESTARTING)
    assert {one.node for one in silent if one.folded_into == restarting.id} == set(SUPPLY[:1])
