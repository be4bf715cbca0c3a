import pytest

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
from hub.rollout.models import Conduct, RolloutState
from schemas import Held
from tests.hub.rollout.machines import BEFORE, CANARY, NODES, OTHER, OURS, REVISION, TIMING, machine_of
from tests.hub.rollout.words import reported


@pytest.fixture
def machine() -> RolloutMachine:
    return machine_of((NODES,))


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


def _taken(machine: RolloutMachine, node: str, now_s: float) -> float:
    """Stages the last node of a batch; when the batch shows it."""
    assert PublishTake() in _stages(machine, node, now_s)
    return machine.takes_s[-1]


def test_only_the_batchs_nodes_are_given_documents() -> None:
    machine = machine_of(CANARY)
    assert _start(machine, *NODES) == [PublishDesired("bay-01")]
    assert machine.in_hand == {"bay-01"}


def test_next_batch_is_staged_when_the_one_before_has_soaked() -> None:
    machine = machine_of(CANARY, Course(soak_s=60.0))
    _start(machine, *NODES)
    taken_s = _taken(machine, "bay-01", 1.0)
    assert machine.tick(taken_s + 59.9) == []
    assert machine.tick(taken_s + 60.0) == [StepChanged(), PublishDesired("bay-02"), PublishDesired("bay-03")]
    assert machine.state is RolloutState.STAGING


def test_last_batch_soaks_too_before_the_revision_is_in_force() -> None:
    machine = machine_of((NODES,), Course(soak_s=60.0))
    _start(machine, "bay-01")
    taken_s = _taken(machine, "bay-01", 1.0)
    assert machine.tick(taken_s + 59.9) == []
    assert machine.tick(taken_s + 60.0) == [StepChanged(), RolloutEnded()]
    assert machine.state is RolloutState.TAKEN


def test_failed_gate_halts_and_reverts_what_was_taken() -> None:
    machine = machine_of(CANARY, Course(soak_s=60.0))
    _start(machine, *NODES)
    _taken(machine, "bay-01", 1.0)
    (halted,) = machine.gates_failed([NodeRefusal("bay-01", "findings", "it is slow", "look at it")])
    assert halted == RolloutHalted("bay-01: it is slow (look at it)", halted.refusals, revert=True)  # type: ignore[union-attr]


def test_gates_count_for_nothing_before_a_take() -> None:
    machine = machine_of(CANARY, Course(soak_s=60.0))
    _start(machine, *NODES)
    assert machine.gates_failed([NodeRefusal("bay-01", "findings", "it is slow", "look at it")]) == []


def test_plan_that_holds_does_not_revert() -> None:
    machine = machine_of(CANARY, Course(revert_on_failure=False))
    _start(machine, *NODES)
    (halted,) = machine.observe("bay-01", online=True, reported=reported(refuses=REVISION), now_s=1.0)
    assert isinstance(halted, RolloutHalted)
    assert not halted.revert
    assert halted.why.startswith("canary bay-01 refused: ")


def test_failures_within_the_share_are_left_out_and_named() -> None:
    machine = machine_of((NODES,), Course(failures_share=0.67))
    _start(machine, *NODES)
    machine.observe("bay-01", online=True, reported=reported(refuses=REVISION), now_s=1.0)
    _stages(machine, "bay-02", now_s=1.0)
    assert machine.tick(TIMING.answer_s - 0.1)[-1:] in ([], [PublishDesired("bay-03")])
    assert PublishTake() in machine.tick(TIMING.answer_s)
    assert set(machine.left_out) == {"bay-01", "bay-03"}


def test_quorum_is_waited_for_and_then_halts() -> None:
    machine = machine_of((NODES,), Course(quorum_share=0.9))
    _start(machine, "bay-01", "bay-02")
    _stages(machine, "bay-01")
    assert _stages(machine, "bay-02", now_s=1.0) == []
    assert machine.tick(1.0 + TIMING.limit_s - 0.1) == []
    (halted,) = machine.tick(1.0 + TIMING.limit_s)
    assert isinstance(halted, RolloutHalted)
    assert "2 of 3 selected nodes are online" in halted.why


def test_quorum_that_is_reached_takes() -> None:
    machine = machine_of((NODES,), Course(quorum_share=0.6))
    _start(machine, "bay-01")
    _stages(machine, "bay-01")
    machine.observe("bay-02", online=True, reported=reported(showing=BEFORE), now_s=2.0)
    assert PublishTake() in _stages(machine, "bay-02", now_s=3.0)


def test_planned_time_is_waited_for_and_kept_to_the_moment() -> None:
    machine = machine_of((NODES,), Course(take_at_s=500.0))
    _start(machine, "bay-01")
    assert _stages(machine, "bay-01") == [StepChanged()]
    assert machine.state is RolloutState.STAGED
    assert machine.tick(490.0) == []
    assert machine.tick(499.3) == [BatchTaken(0, 500.0), PublishTake()]


def test_staged_batch_waits_for_go() -> None:
    machine = machine_of((NODES,), Course(wait_for_go=True))
    _start(machine, "bay-01")
    assert machine.go(0.5) == []
    assert _stages(machine, "bay-01") == [StepChanged()]
    assert machine.tick(5_000.0) == []
    assert PublishTake() in machine.go(5_001.0)


def test_node_that_comes_while_staged_is_staged_first() -> None:
    machine = machine_of((NODES,), Course(wait_for_go=True))
    _start(machine, "bay-01")
    _stages(machine, "bay-01")
    assert machine.tick(899.9) == []
    machine.observe("bay-02", online=True, reported=reported(showing=BEFORE), now_s=900.0)
    assert machine.tick(900.1) == [StepChanged()]
    assert machine.state is RolloutState.STAGING
    assert machine.go(900.2) == []
    assert _stages(machine, "bay-02", now_s=901.0) == [StepChanged()]


def test_paused_takes_nothing_and_gives_nobody_up() -> None:
    machine = machine_of((NODES,))
    _start(machine, "bay-01", "bay-02")
    assert machine.pause() == [StepChanged()]
    _stages(machine, "bay-01")
    assert machine.tick(TIMING.limit_s + 1) == [PublishDesired("bay-02")]
    assert machine.resume(100.0) == [StepChanged()]
    assert not any(isinstance(action, RolloutHalted) for action in machine.tick(100.0 + TIMING.answer_s - 0.1))
    assert PublishTake() in _stages(machine, "bay-02", now_s=105.0)


def test_paused_while_it_soaks_begins_no_other_batch() -> None:
    machine = machine_of(CANARY, Course(soak_s=5.0))
    _start(machine, "bay-01")
    taken_s = _taken(machine, "bay-01", 1.0)
    machine.pause()
    assert machine.tick(taken_s + 100.0) == []
    machine.resume(taken_s + 101.0)
    assert StepChanged() in machine.tick(taken_s + 101.1)


def test_what_must_show_at_once_leaves_out_whoever_does_not_answer() -> None:
    machine = machine_of((NODES,), Course(conduct=Conduct.AT_ONCE))
    _start(machine, *NODES)
    machine.observe("bay-01", online=True, reported=reported(refuses=REVISION), now_s=0.1)
    _stages(machine, "bay-02", now_s=0.1)
    assert PublishTake() in machine.tick(TIMING.at_once_s)
    assert set(machine.left_out) == {"bay-01", "bay-03"}
    assert machine.takes_s[0] < TIMING.at_once_s + TIMING.margin_s


def test_decided_take_cannot_be_halted() -> None:
    machine = machine_of((NODES,))
    _start(machine)
    assert machine.state is RolloutState.TAKEN
    assert machine.halt("a person", revert=True) == []
