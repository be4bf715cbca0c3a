"""A supply with eight boards loses its mains: one finding that names the supply. Two of its eight: two findings."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from hub.health.cause import DISPROVED_AFTER_S
from hub.health.kinds import CauseKind, FindingKind
from tests.fleet.hub import SimulatedFleet
from tests.fleet.venue import NODES_PER_SUPPLY

NODES = 48
TOLD_AFTER_S = 60.0


@pytest.fixture
def fleet(tmp_path: Path) -> Iterator[SimulatedFleet]:
    simulated = SimulatedFleet(tmp_path, NODES)
    simulated.run_for(120)
    yield simulated
    simulated.close()


def test_supply_that_is_cut_is_told_as_one_finding_that_names_it(fleet: SimulatedFleet) -> None:
    eight = fleet.boards[NODES_PER_SUPPLY : 2 * NODES_PER_SUPPLY]
    for board in eight:
        board.lose_power()
    fleet.run_for(TOLD_AFTER_S)
    ((notice, finding),) = fleet.told()
    assert (finding.kind, finding.cause_kind, finding.cause) == (FindingKind.SILENT, CauseKind.SUPPLY, "psu-001")
    assert "psu-001" in notice.subject
    assert "fuse" in notice.text
    members = [one for one in fleet.findings() if one.folded_into == finding.id]
    assert {one.node for one in members} == {board.node for board in eight}
    for board in eight:
        board.start()
    fleet.run_for(TOLD_AFTER_S)
    assert all(one.ended_at_ms is not None for one in fleet.findings())
    assert len(fleet.told()) == 1


def test_two_of_the_eight_are_two_findings(fleet: SimulatedFleet) -> None:
    two = fleet.boards[NODES_PER_SUPPLY : NODES_PER_SUPPLY + 2]
    for board in two:
        board.lose_power()
    fleet.run_for(TOLD_AFTER_S)
    told = [finding for _, finding in fleet.told()]
    assert {one.node for one in told} == {board.node for board in two}
    assert {(one.kind, one.cause) for one in told} == {(FindingKind.SILENT, None)}


def test_supply_that_turns_out_sound_lets_its_boards_stand_alone(fleet: SimulatedFleet) -> None:
    """All eight go, then one comes back by itself while seven stay away: it was not the supply."""
    eight = fleet.boards[NODES_PER_SUPPLY : 2 * NODES_PER_SUPPLY]
    for board in eight:
        board.lose_power()
    fleet.run_for(TOLD_AFTER_S)
    eight[0].start()
    fleet.run_for(DISPROVED_AFTER_S + TOLD_AFTER_S)
    by_cause = [finding for finding in fleet.findings() if finding.cause is not None]
    assert [one.ended_at_ms is not None for one in by_cause] == [True]
    standing = [one for one in fleet.findings() if one.ended_at_ms is None]
    assert {one.node for one in standing} == {board.node for board in eight[1:]}
    assert {one.folded_into for one in standing} == {None}
    assert {finding.node for _, finding in fleet.told()} - {None} == {board.node for board in eight[1:]}
