"""One rollout as a pure state machine: what nodes say, what people ask and the time go in, named actions come out.

    staging <-> staged --- due --- taken in the last batch, unwatched ---> taken
       ^          |                                                          ^
       |          +--- due ---> soaking --- the last batch has soaked -------+
       +--- the batch has soaked ---+

    staging, staged, soaking --- a node refuses or is silent, a gate fails, a person says so ---> halted

The take of a batch is decided once and never called back: from `BatchTaken` on its nodes are to show the revision.
`state`, `takes_s` and `paused` are all that a machine needs to be made anew after the hub was killed.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

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
from hub.rollout.machine_staging import SILENCE, BatchStaging, Complete, Failed
from hub.rollout.machine_timing import RolloutTiming
from hub.rollout.models import Conduct, RolloutState
from schemas import Held, Reported

MAX_LISTED: Final = 100


@dataclass(frozen=True, slots=True)
class Course:
    """What the plan asks of the machine; seconds are show time. The default takes everything at once."""

    conduct: Conduct = Conduct.STRICT
    soak_s: float = 0.0
    quorum_share: float = 0.0
    failures_share: float = 0.0
    take_at_s: float | None = None
    wait_for_go: bool = False
    revert_on_failure: bool = True


@dataclass(slots=True)
class RolloutMachine:
    """`wanted` is what each node of the batches must hold. Feed it every node's state once by `start`."""

    revision: int
    batches: Sequence[Sequence[str]]
    wanted: Mapping[str, Held]
    timing: RolloutTiming
    course: Course = Course()
    state: RolloutState = RolloutState.STAGING
    takes_s: list[float] = field(default_factory=list)
    paused: bool = False
    ended: bool = False
    left_out: dict[str, NodeRefusal] = field(default_factory=dict)
    _selected: frozenset[str] = frozenset()
    _online: set[str] = field(default_factory=set)
    _reported: dict[str, Reported | None] = field(default_factory=dict)
    _staging: BatchStaging | None = None
    _counted: tuple[int, int] = (0, 0)
    _go: bool = False
    _short_since_s: float | None = None
    _take_published_s: float = 0.0

    def __post_init__(self) -> None:
        self._selected = frozenset(node for batch in self.batches for node in batch)

    @property
    def batch(self) -> int:
        """The place of the batch that is being staged or watched; the last one when all is over."""
        return min(len(self.takes_s) - (self.state is RolloutState.SOAKING), len(self.batches) - 1)

    @property
    def nodes_staged(self) -> int:
        """Of the batch being staged, or of the one staged last."""
        return self._counted[0] if self._staging is None else len(self._staging.staged)

    @property
    def nodes_expected(self) -> int:
        """The same, of nodes that are online."""
        return self._counted[1] if self._staging is None else self._staging.nodes_expected

    @property
    def in_hand(self) -> frozenset[str]:
        """Nodes that are given documents without a take time."""
        return frozenset() if self._staging is None else self._staging.nodes

    def start(self, nodes: Iterable[tuple[str, bool, Reported | None]], now_s: float) -> list[Action]:
        """Begin, or go on where an earlier run of the hub was: its batch is staged or its take published again."""
        for node, online, reported in nodes:
            self._see(node, online, reported)
        if self.state in (RolloutState.STAGING, RolloutState.STAGED):
            return self._stage(now_s)
        return []

    @property
    def margin_s(self) -> float:
        """How far ahead a take lies, but for what the size of the fleet adds."""
        return self.timing.at_once_margin_s if self.course.conduct is Conduct.AT_ONCE else self.timing.margin_s

    def set_take_time(self, now_s: float) -> float:
        """A show time for the take just decided, far enough ahead; set anew when it could not be saved in time."""
        at_s = now_s + self.margin_s + self.timing.margin_per_node_s * len(self.wanted)
        planned_s = self.course.take_at_s if len(self.takes_s) == 1 else None
        self.takes_s[-1] = at_s if planned_s is None else max(at_s, planned_s)
        return self.takes_s[-1]

    def observe(self, node: str, *, online: bool, reported: Reported | None, now_s: float) -> list[Action]:
        """A node's state has changed, or not: hearing the same again is harmless."""
        self._see(node, online, reported)
        if self._staging is None or node not in self._staging.nodes:
            return []
        self._staging.note(node, online=online, reported=reported, now_s=now_s)
        return self._decide(now_s, time_passed=False)

    def tick(self, now_s: float) -> list[Action]:
        """Time passes: repeat what may have been lost, end what is due."""
        if self._staging is not None:
            decided = self._decide(now_s)
            return decided or [PublishDesired(node) for node in self._staging.due_again(now_s)]
        if self.ended or self.state not in (RolloutState.SOAKING, RolloutState.TAKEN):
            return []
        taken_s = self.takes_s[-1]
        if now_s < taken_s + self.timing.after_take_s:
            return self._repeat_take(taken_s, now_s)
        if self.state is RolloutState.TAKEN:
            self.ended = True
            return [RolloutEnded()]
        if self.paused or now_s < taken_s + self.course.soak_s:
            return []
        if len(self.takes_s) < len(self.batches):
            self.state = RolloutState.STAGING
            return [StepChanged(), *self._stage(now_s)]
        self.state, self.ended = RolloutState.TAKEN, True
        return [StepChanged(), RolloutEnded()]

    def pause(self) -> list[Action]:
        """Nothing further is taken or given up until `resume`; gates go on watching what was taken."""
        if self.paused or self.state in (RolloutState.TAKEN, RolloutState.HALTED):
            return []
        self.paused = True
        return [StepChanged()]

    def resume(self, now_s: float) -> list[Action]:
        """Whoever has not answered yet has all the time again."""
        if not self.paused or self.state is RolloutState.HALTED:
            return []
        self.paused = False
        if self._staging is not None:
            self._staging.give_time(now_s)
        return [StepChanged(), *self._decide(now_s)]

    def go(self, now_s: float) -> list[Action]:
        """A person says that the staged batch is to be taken now."""
        if self.state is not RolloutState.STAGED:
            return []
        self._go = True
        return self._decide(now_s)

    def gates_failed(self, failures: Sequence[NodeRefusal]) -> list[Action]:
        """Nodes of the batch being watched do not do well."""
        return self._halt(_listed(failures), failures) if self.state is RolloutState.SOAKING else []

    def halt(self, why: str, *, revert: bool) -> list[Action]:
        """A person, or a rollout that cannot wait, ends it."""
        if self.state in (RolloutState.TAKEN, RolloutState.HALTED):
            return []
        return self._halt(why, (), revert=revert)

    def _stage(self, now_s: float) -> list[Action]:
        nodes = self.batches[len(self.takes_s)]
        strict, timing = self.course.conduct is Conduct.STRICT, self.timing
        at_once = self.course.conduct is Conduct.AT_ONCE
        self._staging = BatchStaging(
            self.revision,
            frozenset(nodes),
            self.wanted,
            timing,
            may_fail=int(round(self.course.failures_share * len(nodes), 9)) if strict else len(nodes),
            limit_s=timing.at_once_s if at_once else timing.limit_s,
            answer_s=timing.at_once_s if at_once else timing.answer_s,
            started_s=now_s,
        )
        for node in nodes:
            reported = self._reported.get(node)
            self._staging.note(node, online=node in self._online, reported=reported, now_s=now_s)
        return [*(PublishDesired(node) for node in nodes), *self._decide(now_s)]

    def _see(self, node: str, online: bool, reported: Reported | None) -> None:
        if node in self._selected:  # the hub may know nodes that this revision does not concern
            self._reported[node] = reported
            (self._online.add if online else self._online.discard)(node)

    def _decide(self, now_s: float, *, time_passed: bool = True) -> list[Action]:
        if self._staging is None or self.paused:
            return []
        match self._staging.verdict(now_s, time_passed=time_passed):
            case Failed(refusals):
                return self._halt(self._who(refusals), refusals)
            case Complete(left_out):
                self._staging.started_s = now_s  # whoever comes from here on is waited for anew
                return self._go_on(left_out, now_s)
        if time_passed and self.state is RolloutState.STAGED:
            self.state = RolloutState.STAGING
            return [StepChanged()]
        return []

    def _go_on(self, left_out: tuple[NodeRefusal, ...], now_s: float) -> list[Action]:
        """The batch is staged: take it, or wait for what is to come first."""
        if self._due(now_s):
            if len(self._online) >= self.course.quorum_share * len(self._selected):
                return self._take(left_out, now_s)
            return self._wait_for_quorum(now_s)
        if self.state is RolloutState.STAGED:
            return []
        self.state = RolloutState.STAGED
        return [StepChanged()]

    def _due(self, now_s: float) -> bool:
        """Whether the batch, once staged, is to be taken now."""
        if self.course.wait_for_go:
            return self._go
        if self.course.take_at_s is None or self.takes_s:
            return True
        # Twice the lead, so that a tick that comes late still decides it in time.
        lead_s = 2 * (self.margin_s + self.timing.margin_per_node_s * len(self.wanted))
        return now_s >= self.course.take_at_s - lead_s

    def _wait_for_quorum(self, now_s: float) -> list[Action]:
        if self._short_since_s is None:
            self._short_since_s = now_s
        if now_s < self._short_since_s + self.timing.limit_s:
            return []
        online, selected = len(self._online), len(self._selected)
        why = f"{online} of {selected} selected nodes are online, and the plan asks for {self.course.quorum_share:.0%}"
        return self._halt(why, ())

    def _take(self, left_out: tuple[NodeRefusal, ...], now_s: float) -> list[Action]:
        batch = len(self.takes_s)
        self.left_out.update({refusal.node: refusal for refusal in left_out})
        self.takes_s.append(now_s)
        self._close_staging()
        self._go, self._short_since_s, self._take_published_s = False, None, now_s
        last = len(self.takes_s) == len(self.batches)
        self.state = RolloutState.TAKEN if last and self.course.soak_s == 0 else RolloutState.SOAKING
        return [BatchTaken(batch, self.set_take_time(now_s)), PublishTake()]

    def _repeat_take(self, taken_s: float, now_s: float) -> list[Action]:
        again_s = self.timing.repeat_take_s + self.timing.repeat_take_per_node_s * len(self.wanted)
        if now_s >= taken_s or now_s < self._take_published_s + again_s:
            return []
        self._take_published_s = now_s
        return [PublishTake()]

    def _halt(self, why: str, refusals: Sequence[NodeRefusal], *, revert: bool | None = None) -> list[Action]:
        self._close_staging()
        self.state = RolloutState.HALTED
        revert = self.course.revert_on_failure if revert is None else revert
        return [RolloutHalted(why, tuple(refusals[:MAX_LISTED]), revert)]

    def _close_staging(self) -> None:
        self._counted = (self.nodes_staged, self.nodes_expected)
        self._staging = None

    def _who(self, refusals: Sequence[NodeRefusal]) -> str:
        canary = len(self.batches) > 1 and not self.takes_s
        return f"{'canary ' if canary else ''}{_listed(refusals)}"


def _listed(refusals: Sequence[NodeRefusal]) -> str:
    listed = "; ".join(f"{_blamed(one)}: {one.reason} ({one.remedy})" for one in refusals[:3])
    return f"{listed}; and {len(refusals) - 3} more" if len(refusals) > 3 else listed


def _blamed(refusal: NodeRefusal) -> str:
    said_nothing = refusal.field in (SILENCE, "findings", "telemetry")
    return refusal.node if said_nothing else f"{refusal.node} refused"
