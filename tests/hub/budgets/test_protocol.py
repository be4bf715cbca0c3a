"""No losses, restarts, reorderings or takes let a supply's nodes enforce more than its budget together: the real ledger
and the real rules of nodes, played against each other. And the play can fail: broken rules are found."""

from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

import node_agent.grants
from hub.budgets.entry import Entry
from hub.budgets.ledger import Ledger
from node_agent.grants import Grants, Newer, Verdict
from schemas import Grant
from tests.hub.budgets.world import LINES, NODES, SUPPLIES, WIRINGS, Board, Disk, World

NODE = st.sampled_from(NODES)
SUPPLY = st.sampled_from(SUPPLIES)
PLACE = st.integers(0, 7)


class Protocol(RuleBasedStateMachine):
    """Hypothesis chooses what happens next; after each step the wires are summed."""

    world_of: type[World] = World

    def __init__(self) -> None:
        super().__init__()
        self.world = self.world_of()
        for node in NODES:
            self.world.boot(node)

    @rule(
        dies=st.sampled_from(["", "", "", "", "before saving", "after saving", "while publishing"]),
        after_s=st.sampled_from([0.1, 1.0, 2.5, 11.0]),
    )
    def hub_takes_a_turn(self, dies: str, after_s: float) -> None:
        self.world.now_s += after_s
        self.world.step(dies=dies)

    @rule()
    def everybody_is_well_for_a_moment(self) -> None:
        self.world.heal(rounds=3)

    @rule(line=st.integers(0, LINES - 1))
    def news_travels_fast_and_one_line_slowly(self, line: int) -> None:
        """Whoever is alive is told, reports and is heard; only one of its lines gets its frame in that time."""
        self.world.now_s += 2.5
        for node, board in self.world.boards.items():
            for payload in self.world.grants[node][-1:]:
                board.hear(payload, dies=False)
            board.send(line)
            report = board.report()
            if report is not None:
                self.world.hear(report)
        self.world.step()

    @rule(node=NODE, place=PLACE, again=st.booleans(), dies=st.booleans())
    def grant_arrives(self, node: str, place: int, again: bool, dies: bool) -> None:
        waiting = self.world.grants[node]
        if waiting:
            place %= len(waiting)
            payload = waiting[place]
            if not again:
                del waiting[place]
            self.world.boards[node].hear(payload, dies=dies)

    @rule(node=NODE, place=PLACE)
    def grant_is_lost(self, node: str, place: int) -> None:
        waiting = self.world.grants[node]
        if waiting:
            del waiting[place % len(waiting)]

    @rule(node=NODE, line=st.integers(0, LINES - 1))
    def one_line_sends_a_frame(self, node: str, line: int) -> None:
        self.world.boards[node].send(line)

    @rule(node=NODE)
    def node_shows_a_frame(self, node: str) -> None:
        for line in range(LINES):
            self.world.boards[node].send(line)

    @rule(node=NODE)
    def node_reports(self, node: str) -> None:
        report = self.world.boards[node].report()
        if report is not None:
            self.world.reports.append(report)

    @rule(place=PLACE, again=st.booleans(), online=st.sampled_from([True, True, False]))
    def report_arrives(self, place: int, again: bool, online: bool) -> None:
        """In any order, as often as it likes, and as a living node's even where that board was replaced."""
        waiting = self.world.reports
        if waiting:
            place %= len(waiting)
            self.world.hear(waiting[place], online=online)
            if not again:
                del waiting[place]

    @rule(place=PLACE)
    def report_is_lost(self, place: int) -> None:
        waiting = self.world.reports
        if waiting:
            del waiting[place % len(waiting)]

    @rule(node=NODE)
    def board_is_killed(self, node: str) -> None:
        self.world.boards[node].die()

    @rule(node=NODE)
    def board_starts_again(self, node: str) -> None:
        self.world.boards[node].die()
        self.world.boot(node)

    @rule(node=NODE)
    def board_is_replaced_by_a_fresh_one(self, node: str) -> None:
        """Or its disk is lost. The pixels hold what the old one sent."""
        self.world.boards[node].die()
        self.world.boards[node].disk = Disk()
        self.world.boot(node)

    @rule(node=NODE)
    def hub_misses_a_node(self, node: str) -> None:
        self.world.ledger.lost(node)

    @rule()
    def hub_is_killed(self) -> None:
        self.world.restart_hub()

    @rule(wiring=st.sampled_from(WIRINGS), members=st.sets(NODE, min_size=1))
    def wiring_changes(self, wiring: Mapping[str, Mapping[str, Any]], members: set[str]) -> None:
        self.world.wiring, self.world.members = wiring, tuple(sorted(members))
        self.world.set_demands()

    @rule(node=NODE, shown=st.booleans())
    def node_takes_or_misses_the_wiring(self, node: str, shown: bool) -> None:
        self.world.shown[node] = shown

    @rule(supply=SUPPLY, by_need=st.booleans(), whole_ma=st.sampled_from([2_000, 4_000, 8_000, 12_000]))
    def supply_changes(self, supply: str, by_need: bool, whole_ma: int) -> None:
        self.world.by_need[supply], self.world.whole_ma[supply] = by_need, whole_ma
        self.world.set_demands()

    @rule(node=NODE, supply=SUPPLY, wanted_ma=st.sampled_from([0, 500, 2_000, 4_000, 9_000]))
    def scene_wants(self, node: str, supply: str, wanted_ma: int) -> None:
        self.world.ledger.wanted[node, supply] = wanted_ma

    @rule(node=NODE)
    def person_takes_a_board_away_and_says_so(self, node: str) -> None:
        board = self.world.boards[node]
        board.die()
        board.disk, board.lines = Disk(), type(board.lines)()
        self.world.ledger.release(node)

    @invariant()
    def wires_stay_within_the_budget(self) -> None:
        self.world.check()

    def teardown(self) -> None:
        """Nothing is stuck for good: once all are well, everybody has what they should, and has confirmed it."""
        world = self.world
        world.wiring, world.members, world.shown = WIRINGS[0], NODES, dict.fromkeys(NODES, True)
        world.set_demands()
        world.heal()
        for node in NODES:
            entry = world.ledger.entries[node]
            assert not entry.unconfirmed
            for supply in SUPPLIES:
                assert entry.granted.get(supply, 0) == world.ledger.share_ma(supply, node)
                assert world.boards[node].lines.ma(supply) == entry.granted.get(supply, 0)


THOROUGH = settings(max_examples=150, stateful_step_count=60, suppress_health_check=list(HealthCheck), print_blob=False)


def test_wires_stay_within_the_budget_whatever_happens() -> None:
    run_state_machine_as_test(Protocol, settings=THOROUGH)


class RaisesTooSoon(Ledger):
    """Counts a lowering as done when it is published."""

    def committed_ma(self, supply: str, node: str, entry: Entry | None = None) -> int:
        return (entry or self.entries.get(node, Entry())).granted.get(supply, 0)


class BelievesOldNews(Ledger):
    """Takes any number for a confirmation of the newest."""

    def _held(self, node: str, entry: Entry, held: Any) -> Entry:  # noqa: ANN401, ARG002
        return entry.confirm()


class ForgetsTheDead(Ledger):
    """Gives away what a node that is off was granted."""

    def lost(self, node: str) -> None:
        super().lost(node)
        self._put(node, self.entries.get(node, Entry()).release())


class HastyBoard(Board):
    """Says that the wires obey before every line has sent a frame."""

    def send(self, line: int) -> None:
        super().send(line)
        if self.grants is not None and self._obeyed is not None:
            self.grants.reached_wires(self._obeyed.number)


class ForgetfulDisk(Disk):
    """Loses what it is told to keep, though not what it kept first."""

    def keep_grant(self, grant: Grant) -> None:
        self.grant = self.grant or grant


class ForgetfulBoard(Board):
    """Obeys grants that it has not kept."""

    def __init__(self, node: str) -> None:
        super().__init__(node)
        self.disk = ForgetfulDisk()


def _world(ledger: type[Ledger] = Ledger, board: type[Board] = Board) -> type[Protocol]:
    world = type("World", (World,), {"ledger_of": ledger, "board_of": board})
    return type("Broken", (Protocol,), {"world_of": world, "teardown": lambda _self: None})


FINDING = settings(THOROUGH, max_examples=2_000, phases=[Phase.generate], derandomize=True, database=None)


@pytest.mark.parametrize("ledger", [RaisesTooSoon, BelievesOldNews, ForgetsTheDead])
def test_a_ledger_that_breaks_a_rule_is_found(ledger: type[Ledger]) -> None:
    with pytest.raises(AssertionError, match="carries"):
        run_state_machine_as_test(_world(ledger=ledger), settings=FINDING)


@pytest.mark.parametrize("board", [HastyBoard, ForgetfulBoard])
def test_a_board_that_breaks_a_rule_is_found(board: type[Board]) -> None:
    with pytest.raises(AssertionError, match="carries"):
        run_state_machine_as_test(_world(board=board), settings=FINDING)


def _goes_back(payload: bytes, _venue: str, _node: str, _held: Grant | None, _boot_id: str) -> Verdict:
    return Newer(Grant.model_validate_json(payload))


def _takes_any_as_its_first(payload: bytes, venue: str, node: str, held: Grant | None, boot_id: str) -> Verdict:
    if held is None:
        return Newer(Grant.model_validate_json(payload))
    return JUDGE(payload, venue, node, held, boot_id)


JUDGE = node_agent.grants.judge


@pytest.mark.parametrize("judge", [_goes_back, _takes_any_as_its_first])
def test_a_board_that_takes_what_it_must_not_is_found(judge: Any, monkeypatch: pytest.MonkeyPatch) -> None:  # noqa: ANN401
    monkeypatch.setattr(node_agent.grants, "judge", judge)
    with pytest.raises(AssertionError, match="carries"):
        run_state_machine_as_test(_world(), settings=FINDING)


assert Grants is Board.grants_of  # the real ones
