import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from hub.rollout.machine import (
    Action,
    NodeRefusal,
    Phase,
    PublishDesired,
    PublishTake,
    RolloutEnded,
    RolloutHalted,
    RolloutMachine,
    RolloutTaken,
    RolloutTiming,
)
from schemas import Held, Reported
from tests.hub.rollout.words import SHA_A, SHA_B, reported

REVISION = 7
OURS, OTHER = Held(revision=REVISION, sha256=SHA_A), Held(revision=REVISION, sha256=SHA_B)
BEFORE = Held(revision=6, sha256=SHA_A)
NODES = ("bay-01", "bay-02", "bay-03")
TIMING = RolloutTiming()


@pytest.fixture
def machine() -> RolloutMachine:
    return RolloutMachine(REVISION, dict.fromkeys(NODES, OURS), TIMING)


def _start(machine: RolloutMachine, *online: str) -> list[Action]:
    return machine.start([(node, node in online, reported(showing=BEFORE)) for node in NODES], 0.0)


def _stages(machine: RolloutMachine, node: str, now_s: float = 1.0, held: Held = OURS) -> list[Action]:
    return machine.observe(node, online=True, reported=reported(staged=held, showing=BEFORE), now_s=now_s)


def test_documents_go_to_nodes_that_are_off_too(machine: RolloutMachine) -> None:
    assert _start(machine, "bay-01") == [PublishDesired(node) for node in NODES]


def test_take_follows_the_last_online_node_that_staged(machine: RolloutMachine) -> None:
    _start(machine, "bay-01", "bay-02")
    assert _stages(machine, "bay-01") == []
    actions = _stages(machine, "bay-02", now_s=1.0)
    assert actions == [RolloutTaken(machine.take_at_s or 0.0), PublishTake()]
    assert machine.take_at_s == pytest.approx(1.0 + TIMING.margin_s + 3 * TIMING.margin_per_node_s)
    assert (machine.nodes_staged, machine.nodes_expected) == (2, 2)


def test_take_is_repeated_until_its_show_time_and_then_ends(machine: RolloutMachine) -> None:
    _start(machine)
    take_at_s = machine.take_at_s or 0.0
    steps = [step / 20 for step in range(1, 40)]
    actions = [(now_s, action) for now_s in steps for action in machine.tick(now_s)]
    repeats = [now_s for now_s, action in actions if action == PublishTake()]
    assert len(repeats) >= 3
    assert max(repeats) < take_at_s
    assert [action for _, action in actions if action != PublishTake()] == [RolloutEnded()]
    assert machine.phase is Phase.TAKEN


def test_venue_with_every_node_off_is_taken_at_once(machine: RolloutMachine) -> None:
    assert [type(action) for action in _start(machine)][-2:] == [RolloutTaken, PublishTake]


def test_node_that_already_shows_the_revision_counts_as_staged(machine: RolloutMachine) -> None:
    _start(machine, "bay-01")
    actions = machine.observe("bay-01", online=True, reported=reported(showing=OURS), now_s=1.0)
    assert PublishTake() in actions


def test_another_hash_under_the_same_revision_is_no_answer(machine: RolloutMachine) -> None:
    _start(machine, "bay-01")
    assert _stages(machine, "bay-01", held=OTHER) == []
    (halted,) = machine.tick(TIMING.answer_s)
    assert isinstance(halted, RolloutHalted)


def test_refusal_halts_with_node_field_reason_and_remedy(machine: RolloutMachine) -> None:
    _start(machine, "bay-01")
    (halted,) = machine.observe("bay-01", online=True, reported=reported(refuses=REVISION), now_s=1.0)
    assert isinstance(halted, RolloutHalted)
    assert halted.refusals == (NodeRefusal("bay-01", "body.channels.0", "too many", "fewer pixels"),)
    assert "bay-01: too many (fewer pixels)" in halted.reason
    assert _stages(machine, "bay-01") == []


def test_refusals_are_gathered_for_a_moment_so_that_all_are_told(machine: RolloutMachine) -> None:
    _start(machine, *NODES)
    assert machine.observe("bay-01", online=True, reported=reported(refuses=REVISION), now_s=1.0) == []
    assert machine.observe("bay-02", online=True, reported=reported(refuses=REVISION), now_s=1.1) == []
    (halted,) = machine.tick(1.0 + TIMING.gather_s)
    assert isinstance(halted, RolloutHalted)
    assert [refusal.node for refusal in halted.refusals] == ["bay-01", "bay-02"]


def test_refusal_stands_though_the_node_goes_off(machine: RolloutMachine) -> None:
    _start(machine, "bay-01", "bay-02")
    machine.observe("bay-01", online=True, reported=reported(refuses=REVISION), now_s=1.0)
    machine.observe("bay-01", online=False, reported=None, now_s=1.1)
    (halted,) = _stages(machine, "bay-02", now_s=1.2)
    assert isinstance(halted, RolloutHalted)


def test_refusal_of_an_older_revision_is_history(machine: RolloutMachine) -> None:
    _start(machine, "bay-01")
    assert machine.observe("bay-01", online=True, reported=reported(refuses=REVISION - 1), now_s=1.0) == []


def test_node_that_stays_silent_halts_at_its_deadline_and_is_named(machine: RolloutMachine) -> None:
    _start(machine, "bay-01", "bay-02")
    _stages(machine, "bay-01")
    assert all(isinstance(action, PublishDesired) for action in machine.tick(TIMING.answer_s - 0.1))
    (halted,) = machine.tick(TIMING.answer_s)
    assert isinstance(halted, RolloutHalted)
    assert [refusal.node for refusal in halted.refusals] == ["bay-02"]


def test_node_that_goes_off_while_staging_is_not_waited_for(machine: RolloutMachine) -> None:
    _start(machine, "bay-01", "bay-02")
    _stages(machine, "bay-01")
    assert PublishTake() in machine.observe("bay-02", online=False, reported=None, now_s=2.0)


def test_node_that_comes_on_while_staging_is_waited_for_from_then(machine: RolloutMachine) -> None:
    _start(machine, "bay-01")
    machine.observe("bay-02", online=True, reported=reported(showing=BEFORE), now_s=5.0)
    assert _stages(machine, "bay-01") == []
    assert not any(isinstance(action, RolloutHalted) for action in machine.tick(TIMING.answer_s + 4.9))
    assert isinstance(machine.tick(TIMING.answer_s + 5.0)[0], RolloutHalted)


def test_node_that_does_not_answer_gets_its_document_again(machine: RolloutMachine) -> None:
    _start(machine, "bay-01", "bay-02")
    _stages(machine, "bay-01")
    again_s = TIMING.restage_s + 3 * TIMING.restage_per_node_s
    assert machine.tick(again_s) == [PublishDesired("bay-02")]
    assert machine.tick(again_s + 0.1) == []


def test_unknown_node_changes_nothing(machine: RolloutMachine) -> None:
    actions = machine.start([("stranger", True, reported(showing=BEFORE)), ("bay-01", True, None)], 0.0)
    assert actions == [PublishDesired(node) for node in NODES]
    assert machine.observe("stranger", online=True, reported=reported(refuses=REVISION), now_s=1.0) == []


class LossyFleet(RuleBasedStateMachine):
    """Messages are lost, repeated and late; nodes come and go; time passes unevenly."""

    def __init__(self) -> None:
        super().__init__()
        self.now_s = 0.0
        self.machine = RolloutMachine(REVISION, dict.fromkeys(NODES, OURS), TIMING)
        self.online: dict[str, bool] = dict.fromkeys(NODES, False)
        self.last_heard: dict[str, Reported | None] = dict.fromkeys(NODES)
        self.refused: set[str] = set()
        self.outcomes: list[Action] = []

    @initialize(online=st.sets(st.sampled_from(NODES)))
    def start(self, online: set[str]) -> None:
        self.online = {node: node in online for node in NODES}
        self._apply(self.machine.start([(node, self.online[node], None) for node in NODES], self.now_s))

    @rule(node=st.sampled_from(NODES), word=st.sampled_from(("staged", "other", "refuses", "older")))
    def hears(self, node: str, word: str) -> None:
        words = {
            "staged": reported(staged=OURS, showing=BEFORE),
            "other": reported(staged=OTHER),
            "refuses": reported(refuses=REVISION),
            "older": reported(showing=BEFORE, refuses=REVISION - 1),
        }
        self.last_heard[node] = words[word]
        if word == "refuses" and self.online[node] and self.machine.phase is Phase.STAGING:
            self.refused.add(node)
        self._observe(node)

    @rule(node=st.sampled_from(NODES))
    def hears_the_same_again(self, node: str) -> None:
        self._observe(node)

    @rule(node=st.sampled_from(NODES), online=st.booleans())
    def comes_or_goes(self, node: str, online: bool) -> None:
        self.online[node] = online
        last = self.last_heard[node]
        says_no = last is not None and last.refusal is not None and last.refusal.revision == REVISION
        if online and says_no and self.machine.phase is Phase.STAGING:
            self.refused.add(node)
        self._observe(node)

    @rule(seconds=st.floats(0.01, 4.0))
    def time_passes(self, seconds: float) -> None:
        self.now_s += seconds
        self._apply(self.machine.tick(self.now_s))

    @precondition(lambda self: self.now_s > 0)
    @invariant()
    def staging_ends_within_its_limit(self) -> None:
        if self.machine.phase is Phase.STAGING:
            assert self.now_s < TIMING.limit_s

    @invariant()
    def there_is_one_outcome_at_most(self) -> None:
        kinds = [type(action) for action in self.outcomes]
        assert kinds in ([], [RolloutHalted], [RolloutTaken], [RolloutTaken, RolloutEnded])

    def teardown(self) -> None:
        for _ in range(200):
            self.now_s += 0.5
            self._apply(self.machine.tick(self.now_s))
        assert self.machine.phase in (Phase.TAKEN, Phase.HALTED)

    def _observe(self, node: str) -> None:
        self._apply(
            self.machine.observe(node, online=self.online[node], reported=self.last_heard[node], now_s=self.now_s)
        )

    def _apply(self, actions: list[Action]) -> None:
        for action in actions:
            if isinstance(action, RolloutTaken):
                assert not self.refused
                for node in NODES:
                    last = self.last_heard[node]
                    assert not self.online[node] or (last is not None and last.staged == OURS)
            if isinstance(action, PublishTake):
                assert self.machine.take_at_s is not None
                assert self.now_s < self.machine.take_at_s
            if isinstance(action, RolloutTaken | RolloutHalted | RolloutEnded):
                self.outcomes.append(action)


TestLossyFleet = LossyFleet.TestCase
TestLossyFleet.settings = settings(deadline=None)  # a busy machine may pause at any step
