"""One rollout as a pure state machine: what nodes say and the time go in, named actions come out.

    staging --- every online node has staged ---> taking --- its show time has come ---> taken
       |
       +--- a node refuses, or is online and does not answer in time ---> halted

The take is decided once and never called back: from `RolloutTaken` on the revision is in force.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from schemas import Held, Reported

MAX_LISTED: Final = 100


@dataclass(frozen=True, slots=True)
class RolloutTiming:
    """Seconds, but for the counts."""

    answer_s: float = 10.0
    """An online node must stage or refuse within this, counted from the start or from when it came online."""
    limit_s: float = 30.0
    """Staging ends by then, whatever nodes come and go."""
    restage_s: float = 2.0
    restage_per_node_s: float = 0.001
    """A node that has not answered gets its document again: a subscription at QoS 0 may lose one. Later in a large
    fleet, whose answers take time to come in."""
    restage_batch: int = 200
    gather_s: float = 0.5
    """After a first refusal, how long others may still name theirs, so that all are mended at once."""
    repeat_take_s: float = 0.1
    repeat_take_per_node_s: float = 0.00015
    """The take is repeated no oftener than the broker can bring it to all."""
    margin_s: float = 0.6
    margin_per_node_s: float = 0.0003
    """The take lies `margin_s` + `margin_per_node_s` × nodes ahead: 2,000 nodes had it within 0.34 s."""
    after_take_s: float = 0.3
    """Nodes whose clock is a little behind get this long to show the take before another rollout may follow."""
    settle_s: float = 1.0
    """Nothing starts before the hub has listened to the venue for this long: who is on must be known."""
    longest_settle_s: float = 10.0
    """The same while nodes are announced online but have not spoken yet."""


class Phase(StrEnum):
    """Where a rollout is, inside the machine."""

    STAGING = "staging"
    TAKING = "taking"
    TAKEN = "taken"
    HALTED = "halted"


@dataclass(frozen=True, slots=True)
class NodeRefusal:
    """Why a node keeps a rollout from being taken."""

    node: str
    field: str
    reason: str
    remedy: str


@dataclass(frozen=True, slots=True)
class PublishDesired:
    """Publish the node's document of this revision, without a take time."""

    node: str


@dataclass(frozen=True, slots=True)
class RolloutTaken:
    """Decided: save it before anything else, then publish the take."""

    at_s: float


@dataclass(frozen=True, slots=True)
class PublishTake:
    """Publish `all/take`, for the first time or again."""


@dataclass(frozen=True, slots=True)
class RolloutEnded:
    """The take's show time is past: the next rollout may start."""


@dataclass(frozen=True, slots=True)
class RolloutHalted:
    """Nothing changed anywhere; publish the documents in force again."""

    reason: str
    refusals: tuple[NodeRefusal, ...]


Action = PublishDesired | RolloutTaken | PublishTake | RolloutEnded | RolloutHalted


@dataclass(slots=True)
class _Waiting:
    """An online node that has not answered."""

    since_s: float
    published_s: float


@dataclass(slots=True)
class RolloutMachine:
    """`wanted` is what each node of the venue must hold. Feed it every node's state once after `start`."""

    revision: int
    wanted: Mapping[str, Held]
    timing: RolloutTiming
    phase: Phase = Phase.STAGING
    take_at_s: float | None = None
    refusals: dict[str, NodeRefusal] = field(default_factory=dict)
    _staged: set[str] = field(default_factory=set)
    _waiting: dict[str, _Waiting] = field(default_factory=dict)
    _started_s: float = 0.0
    _refused_s: float | None = None
    _take_published_s: float = 0.0

    @property
    def nodes_staged(self) -> int:
        return len(self._staged)

    @property
    def nodes_expected(self) -> int:
        """Nodes that count: online, and staged, asked or refusing."""
        return len(self._staged) + len(self._waiting) + len(self.refusals.keys() - self._staged)

    def start(self, nodes: Iterable[tuple[str, bool, Reported | None]], now_s: float) -> list[Action]:
        """Stage everywhere: every node's document is published, also for nodes that are off."""
        self._started_s = now_s
        actions: list[Action] = [PublishDesired(node) for node in self.wanted]
        for node, online, reported in nodes:
            if node not in self.wanted:
                continue  # the hub may know nodes that this revision does not concern
            self._note(node, online=online, reported=reported, now_s=now_s)
        return actions + self._decide(now_s)

    def resume_taking(self, at_s: float) -> None:
        """Go on with a take that was decided and saved before the hub was restarted."""
        self.phase = Phase.TAKING
        self.take_at_s = at_s

    def set_take_time(self, now_s: float) -> float:
        """A show time for the take, far enough ahead of `now_s`; set anew when it could not be saved in time."""
        self.take_at_s = now_s + self.timing.margin_s + self.timing.margin_per_node_s * len(self.wanted)
        return self.take_at_s

    def observe(self, node: str, *, online: bool, reported: Reported | None, now_s: float) -> list[Action]:
        """A node's state has changed, or not: hearing the same again is harmless."""
        if self.phase is not Phase.STAGING or node not in self.wanted:
            return []
        self._note(node, online=online, reported=reported, now_s=now_s)
        return self._decide(now_s)

    def tick(self, now_s: float) -> list[Action]:
        """Time passes: repeat what may have been lost, end what is due."""
        if self.phase is Phase.TAKING:
            return self._go_on_taking(now_s)
        if self.phase is not Phase.STAGING:
            return []
        return self._decide(now_s) or self._give_up_on_silent(now_s) or self._restage(now_s)

    def _note(self, node: str, *, online: bool, reported: Reported | None, now_s: float) -> None:
        if not online:
            self._waiting.pop(node, None)
            self._staged.discard(node)
            return
        if reported is not None and self.wanted[node] in (reported.staged, reported.showing):
            self._waiting.pop(node, None)
            self._staged.add(node)
            return
        self._staged.discard(node)
        if reported is not None and reported.refusal is not None and reported.refusal.revision == self.revision:
            refusal = reported.refusal
            self._waiting.pop(node, None)
            self.refusals[node] = NodeRefusal(node, refusal.field, refusal.reason, refusal.remedy)
            if self._refused_s is None:
                self._refused_s = now_s
        elif node not in self.refusals:
            self._waiting.setdefault(node, _Waiting(now_s, now_s))

    def _decide(self, now_s: float) -> list[Action]:
        if self._refused_s is not None:
            if self._waiting and now_s < self._refused_s + self.timing.gather_s:
                return []
            return self._halt(list(self.refusals.values()))
        return [] if self._waiting else self._take(now_s)

    def _give_up_on_silent(self, now_s: float) -> list[Action]:
        out_of_time = now_s >= self._started_s + self.timing.limit_s
        late = [
            node
            for node, waiting in self._waiting.items()
            if out_of_time or now_s >= waiting.since_s + self.timing.answer_s
        ]
        return self._halt([self._silence(node) for node in late]) if late else []

    def _take(self, now_s: float) -> list[Action]:
        self.phase = Phase.TAKING
        self._take_published_s = now_s
        return [RolloutTaken(self.set_take_time(now_s)), PublishTake()]

    def _go_on_taking(self, now_s: float) -> list[Action]:
        take_at_s = now_s if self.take_at_s is None else self.take_at_s
        if now_s >= take_at_s + self.timing.after_take_s:
            self.phase = Phase.TAKEN
            return [RolloutEnded()]
        again_s = self.timing.repeat_take_s + self.timing.repeat_take_per_node_s * len(self.wanted)
        if now_s < take_at_s and now_s >= self._take_published_s + again_s:
            self._take_published_s = now_s
            return [PublishTake()]
        return []

    def _restage(self, now_s: float) -> list[Action]:
        actions: list[Action] = []
        after_s = self.timing.restage_s + self.timing.restage_per_node_s * len(self.wanted)
        for node, waiting in self._waiting.items():
            if now_s >= waiting.published_s + after_s and len(actions) < self.timing.restage_batch:
                waiting.published_s = now_s
                actions.append(PublishDesired(node))
        return actions

    def _halt(self, refusals: list[NodeRefusal]) -> list[Action]:
        self.phase = Phase.HALTED
        listed = "; ".join(f"{one.node}: {one.reason} ({one.remedy})" for one in refusals[:3])
        more = f"; and {len(refusals) - 3} more" if len(refusals) > 3 else ""
        return [RolloutHalted(f"nothing changed: {listed}{more}", tuple(refusals[:MAX_LISTED]))]

    def _silence(self, node: str) -> NodeRefusal:
        return NodeRefusal(
            node,
            "reported",
            f"the node is online but did not answer within {self.timing.answer_s:g} s",
            "see whether its board is overloaded and restart its agent, or switch it off: it then catches up later",
        )
