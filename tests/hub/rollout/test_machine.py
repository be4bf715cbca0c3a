import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from hub.rollout.machine import Course, RolloutMachine
from hub.rollout.machine_actions import (
    Action,
    BatchTaken,
    NodeRefusal,
    PublishDesired,
    PublishTake,
    RolloutEnded,
    RolloutHalted,
    StepChanged,
)
from hub.rollout.machine_timing import RolloutTiming
from hub.rollout.models import Conduct, RolloutState
from schemas import Held, Reported
from tests.hub.rollout.words import SHA_A, SHA_B, reported

REVISION = 7
OURS, OTHER = Held(revision=REVISION, sha256=SHA_A), Held(revision=REVISION, sha256=SHA_B)
BEFORE = Held(revision=6, sha256=SHA_A)
NODES = ("bay-01", "bay-02", "bay-03")
TIMING = RolloutTiming()


def _machine(batches: tuple[tuple[str, ...], ...], course: Course = Course()) -> RolloutMachine:  # noqa: B008 (frozen)
    return RolloutMachine(REVISION, batches, dict.fromkeys(NODES, OURS), TIMING, course)


@pytest.fixture
def machine() -> RolloutMachine:
    return _machine((NODES,))


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
    assert actions == [BatchTaken(0, machine.takes_s[0]), PublishTake()]
    assert machine.takes_s[0] == pytest.approx(1.0 + TIMING.margin_s + 3 * TIMING.margin_per_node_s)
    assert (machine.nodes_staged, machine.nodes_expected) == (2, 2)


def test_take_is_repeated_until_its_show_time_and_then_ends(machine: RolloutMachine) -> None:
    _start(machine)
    (take_at_s,) = machine.takes_s
    steps = [step / 20 for step in range(1, 40)]
    actions = [(now_s, action) for now_s in steps for action in machine.tick(now_s)]
    repeats = [now_s for now_s, action in actions if action == PublishTake()]
    assert len(repeats) >= 3
    assert max(repeats) < take_at_s
    assert [action for _, action in actions if action != PublishTake()] == [RolloutEnded()]
    assert machine.state is RolloutState.TAKEN


def test_venue_with_every_node_off_is_taken_at_once(machine: RolloutMachine) -> None:
    assert [type(action) for action in _start(machine)][-2:] == [BatchTaken, PublishTake]


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
    assert "bay-01 refused: too many (fewer pixels)" in halted.why
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


CANARY: tuple[tuple[str, ...], ...] = (NODES[:1], NODES[1:])


def _taken(machine: RolloutMachine, node: str, now_s: float) -> float:
    """Stages the last node of a batch; when the batch shows it."""
    assert PublishTake() in _stages(machine, node, now_s)
    return machine.takes_s[-1]


def test_only_the_batchs_nodes_are_given_documents() -> None:
    machine = _machine(CANARY)
    assert _start(machine, *NODES) == [PublishDesired("bay-01")]
    assert machine.in_hand == {"bay-01"}


def test_next_batch_is_staged_when_the_one_before_has_soaked() -> None:
    machine = _machine(CANARY, Course(soak_s=60.0))
    _start(machine, *NODES)
    taken_s = _taken(machine, "bay-01", 1.0)
    assert machine.tick(taken_s + 59.9) == []
    assert machine.tick(taken_s + 60.0) == [StepChanged(), PublishDesired("bay-02"), PublishDesired("bay-03")]
    assert machine.state is RolloutState.STAGING


def test_last_batch_soaks_too_before_the_revision_is_in_force() -> None:
    machine = _machine((NODES,), Course(soak_s=60.0))
    _start(machine, "bay-01")
    taken_s = _taken(machine, "bay-01", 1.0)
    assert machine.tick(taken_s + 59.9) == []
    assert machine.tick(taken_s + 60.0) == [StepChanged(), RolloutEnded()]
    assert machine.state is RolloutState.TAKEN


def test_failed_gate_halts_and_reverts_what_was_taken() -> None:
    machine = _machine(CANARY, Course(soak_s=60.0))
    _start(machine, *NODES)
    _taken(machine, "bay-01", 1.0)
    (halted,) = machine.gates_failed([NodeRefusal("bay-01", "findings", "it is slow", "look at it")])
    assert halted == RolloutHalted("bay-01: it is slow (look at it)", halted.refusals, revert=True)  # type: ignore[union-attr]


def test_gates_count_for_nothing_before_a_take() -> None:
    machine = _machine(CANARY, Course(soak_s=60.0))
    _start(machine, *NODES)
    assert machine.gates_failed([NodeRefusal("bay-01", "findings", "it is slow", "look at it")]) == []


def test_plan_that_holds_does_not_revert() -> None:
    machine = _machine(CANARY, Course(revert_on_failure=False))
    _start(machine, *NODES)
    (halted,) = machine.observe("bay-01", online=True, reported=reported(refuses=REVISION), now_s=1.0)
    assert isinstance(halted, RolloutHalted)
    assert not halted.revert
    assert halted.why.startswith("canary bay-01 refused: ")


def test_failures_within_the_share_are_left_out_and_named() -> None:
    machine = _machine((NODES,), Course(failures_share=0.67))
    _start(machine, *NODES)
    machine.observe("bay-01", online=True, reported=reported(refuses=REVISION), now_s=1.0)
    _stages(machine, "bay-02", now_s=1.0)
    assert machine.tick(TIMING.answer_s - 0.1)[-1:] in ([], [PublishDesired("bay-03")])
    assert PublishTake() in machine.tick(TIMING.answer_s)
    assert set(machine.left_out) == {"bay-01", "bay-03"}


def test_quorum_is_waited_for_and_then_halts() -> None:
    machine = _machine((NODES,), Course(quorum_share=0.9))
    _start(machine, "bay-01", "bay-02")
    _stages(machine, "bay-01")
    assert _stages(machine, "bay-02", now_s=1.0) == []
    assert machine.tick(1.0 + TIMING.limit_s - 0.1) == []
    (halted,) = machine.tick(1.0 + TIMING.limit_s)
    assert isinstance(halted, RolloutHalted)
    assert "2 of 3 selected nodes are online" in halted.why


def test_quorum_that_is_reached_takes() -> None:
    machine = _machine((NODES,), Course(quorum_share=0.6))
    _start(machine, "bay-01")
    _stages(machine, "bay-01")
    machine.observe("bay-02", online=True, reported=reported(showing=BEFORE), now_s=2.0)
    assert PublishTake() in _stages(machine, "bay-02", now_s=3.0)


def test_planned_time_is_waited_for_and_kept_to_the_moment() -> None:
    machine = _machine((NODES,), Course(take_at_s=500.0))
    _start(machine, "bay-01")
    assert _stages(machine, "bay-01") == [StepChanged()]
    assert machine.state is RolloutState.STAGED
    assert machine.tick(490.0) == []
    assert machine.tick(499.3) == [BatchTaken(0, 500.0), PublishTake()]


def test_staged_batch_waits_for_go() -> None:
    machine = _machine((NODES,), Course(wait_for_go=True))
    _start(machine, "bay-01")
    assert machine.go(0.5) == []
    assert _stages(machine, "bay-01") == [StepChanged()]
    assert machine.tick(5_000.0) == []
    assert PublishTake() in machine.go(5_001.0)


def test_node_that_comes_while_staged_is_staged_first() -> None:
    machine = _machine((NODES,), Course(wait_for_go=True))
    _start(machine, "bay-01")
    _stages(machine, "bay-01")
    assert machine.tick(899.9) == []
    machine.observe("bay-02", online=True, reported=reported(showing=BEFORE), now_s=900.0)
    assert machine.tick(900.1) == [StepChanged()]
    assert machine.state is RolloutState.STAGING
    assert machine.go(900.2) == []
    assert _stages(machine, "bay-02", now_s=901.0) == [StepChanged()]


def test_paused_takes_nothing_and_gives_nobody_up() -> None:
    machine = _machine((NODES,))
    _start(machine, "bay-01", "bay-02")
    assert machine.pause() == [StepChanged()]
    _stages(machine, "bay-01")
    assert machine.tick(TIMING.limit_s + 1) == [PublishDesired("bay-02")]
    assert machine.resume(100.0) == [StepChanged()]
    assert not any(isinstance(action, RolloutHalted) for action in machine.tick(100.0 + TIMING.answer_s - 0.1))
    assert PublishTake() in _stages(machine, "bay-02", now_s=105.0)


def test_paused_while_it_soaks_begins_no_other_batch() -> None:
    machine = _machine(CANARY, Course(soak_s=5.0))
    _start(machine, "bay-01")
    taken_s = _taken(machine, "bay-01", 1.0)
    machine.pause()
    assert machine.tick(taken_s + 100.0) == []
    machine.resume(taken_s + 101.0)
    assert StepChanged() in machine.tick(taken_s + 101.1)


def test_what_must_show_at_once_leaves_out_whoever_does_not_answer() -> None:
    machine = _machine((NODES,), Course(conduct=Conduct.AT_ONCE))
    _start(machine, *NODES)
    machine.observe("bay-01", online=True, reported=reported(refuses=REVISION), now_s=0.1)
    _stages(machine, "bay-02", now_s=0.1)
    assert PublishTake() in machine.tick(TIMING.at_once_s)
    assert set(machine.left_out) == {"bay-01", "bay-03"}
    assert machine.takes_s[0] < TIMING.at_once_s + TIMING.margin_s


def test_decided_take_cannot_be_halted() -> None:
    machine = _machine((NODES,))
    _start(machine)
    assert machine.state is RolloutState.TAKEN
    assert machine.halt("a person", revert=True) == []


class LossyFleet(RuleBasedStateMachine):
    """Messages are lost, repeated and late; nodes come and go; people meddle; the hub is killed; time passes unevenly.

    The machine is made anew from what it says is to be saved, as a hub does after it was killed.
    """

    def __init__(self) -> None:
        super().__init__()
        self.now_s = 0.0
        self.online: dict[str, bool] = dict.fromkeys(NODES, False)
        self.last_heard: dict[str, Reported | None] = dict.fromkeys(NODES)
        self.outcomes: list[Action] = []
        self.asked_for_go = False

    @initialize(
        online=st.sets(st.sampled_from(NODES)),
        batches=st.sampled_from([(NODES,), CANARY, tuple((node,) for node in NODES)]),
        course=st.builds(
            Course,
            conduct=st.sampled_from(Conduct),
            soak_s=st.sampled_from([0.0, 3.0]),
            quorum_share=st.sampled_from([0.0, 0.5]),
            failures_share=st.sampled_from([0.0, 0.5, 1.0]),
            wait_for_go=st.booleans(),
            revert_on_failure=st.booleans(),
        ),
    )
    def start(self, online: set[str], batches: tuple[tuple[str, ...], ...], course: Course) -> None:
        self.batches, self.course = batches, course
        self.machine = _machine(batches, course)
        self.online = {node: node in online for node in NODES}
        self.saved = (self.machine.state, list(self.machine.takes_s), self.machine.paused)
        self._apply(self.machine.start([(node, self.online[node], None) for node in NODES], self.now_s))

    @rule(node=st.sampled_from(NODES), word=st.sampled_from(("staged", "shows", "other", "refuses", "older")))
    def hears(self, node: str, word: str) -> None:
        words = {
            "staged": reported(staged=OURS, showing=BEFORE),
            "shows": reported(showing=OURS),
            "other": reported(staged=OTHER),
            "refuses": reported(refuses=REVISION),
            "older": reported(showing=BEFORE, refuses=REVISION - 1),
        }
        self.last_heard[node] = words[word]
        self._observe(node)

    @rule(node=st.sampled_from(NODES))
    def hears_the_same_again(self, node: str) -> None:
        self._observe(node)

    @rule(node=st.sampled_from(NODES), online=st.booleans())
    def comes_or_goes(self, node: str, online: bool) -> None:
        self.online[node] = online
        self._observe(node)

    @rule(seconds=st.floats(0.01, 4.0))
    def time_passes(self, seconds: float) -> None:
        self.now_s += seconds
        self._apply(self.machine.tick(self.now_s))

    @rule()
    def is_paused(self) -> None:
        self._apply(self.machine.pause())

    @rule()
    def is_resumed(self) -> None:
        self._apply(self.machine.resume(self.now_s))

    @rule()
    def is_told_to_go(self) -> None:
        self.asked_for_go = True
        self._apply(self.machine.go(self.now_s))

    @rule(revert=st.booleans())
    def is_halted(self, revert: bool) -> None:
        if self.now_s > 20:  # or nothing else would ever be seen
            self._apply(self.machine.halt("a person", revert=revert))

    @rule()
    def gate_fails(self) -> None:
        if self.now_s > 10:
            self._apply(self.machine.gates_failed([NodeRefusal(NODES[0], "findings", "slow", "look")]))

    @rule()
    def hub_is_killed(self) -> None:
        if self.machine.state is RolloutState.HALTED:
            return
        state, takes_s, paused = self.saved
        wanted = dict.fromkeys(NODES, OURS)
        self.machine = RolloutMachine(REVISION, self.batches, wanted, TIMING, self.course, state, list(takes_s), paused)
        nodes = [(node, self.online[node], self.last_heard[node]) for node in NODES]
        self._apply(self.machine.start(nodes, self.now_s))

    @invariant()
    def takes_are_in_order_and_no_more_than_batches(self) -> None:
        if not hasattr(self, "machine"):
            return
        assert len(self.machine.takes_s) <= len(self.batches)
        assert self.machine.takes_s == sorted(self.machine.takes_s)
        everything = len(self.machine.takes_s) == len(self.batches)
        assert everything or self.machine.state is not RolloutState.TAKEN

    def teardown(self) -> None:
        """Left alone, resumed and told to go, it ends."""
        if not hasattr(self, "machine"):
            return
        self.asked_for_go = True
        self._apply(self.machine.resume(self.now_s))
        for _ in range(120):
            self.now_s += 1.0
            self._apply(self.machine.go(self.now_s))
            self._apply(self.machine.tick(self.now_s))
        assert self.machine.state in (RolloutState.TAKEN, RolloutState.HALTED)

    def _observe(self, node: str) -> None:
        self._apply(
            self.machine.observe(node, online=self.online[node], reported=self.last_heard[node], now_s=self.now_s)
        )

    def _apply(self, actions: list[Action]) -> None:
        for action in actions:
            match action:
                case BatchTaken(batch, at_s):
                    self._check_take(batch)
                    assert at_s > self.now_s
                    self.saved = (self.machine.state, list(self.machine.takes_s), self.machine.paused)
                case StepChanged():
                    self.saved = (self.machine.state, list(self.machine.takes_s), self.machine.paused)
                case PublishTake():
                    assert self.now_s < self.machine.takes_s[-1]
                case PublishDesired(node):
                    assert node in {one for batch in self.batches[: len(self.machine.takes_s) + 1] for one in batch}
                case RolloutHalted():
                    assert not any(isinstance(one, RolloutHalted) for one in self.outcomes)
                    self.outcomes.append(action)

    def _check_take(self, batch: int) -> None:
        """Nobody who matters is overrun: who is online holds it, or is one of those that may be left out."""
        assert batch == len(self.machine.takes_s) - 1
        assert not self.machine.paused
        nodes = self.batches[batch]
        failed = [node for node in nodes if self.online[node] and not self._holds(node)]
        left_out = self.machine.left_out
        assert all(node in left_out for node in failed)
        if self.course.conduct is Conduct.STRICT:
            assert len([node for node in nodes if node in left_out]) <= self.course.failures_share * len(nodes)
            assert sum(self.online.values()) >= self.course.quorum_share * len(NODES)
        assert not self.course.wait_for_go or self.asked_for_go

    def _holds(self, node: str) -> bool:
        last = self.last_heard[node]
        return last is not None and OURS in (last.staged, last.showing)


TestLossyFleet = LossyFleet.TestCase
TestLossyFleet.settings = settings(deadline=None, stateful_step_count=40)  # a busy machine may pause at any step
