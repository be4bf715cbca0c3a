"""The rollout machine by chance: whatever comes, it takes only what is staged, and it ends."""

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
    RolloutHalted,
    StepChanged,
)
from hub.rollout.models import Conduct, RolloutState
from schemas import Reported
from tests.hub.rollout.machines import BEFORE, CANARY, NODES, OTHER, OURS, REVISION, TIMING, machine_of
from tests.hub.rollout.words import reported


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
        self.machine = machine_of(batches, course)
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
TestLossyFleet.settings = settings(stateful_step_count=40)
