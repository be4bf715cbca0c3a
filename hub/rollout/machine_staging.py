"""One batch being staged: who holds it, who refuses it, who is late. Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from hub.rollout.machine_actions import NodeRefusal
from hub.rollout.machine_timing import RolloutTiming
from schemas import Held, Reported

SILENCE: Final = "reported"
"""The field that a node's silence is told under."""


@dataclass(frozen=True, slots=True)
class Complete:
    """Every node that is online holds it, but for those that may be left out."""

    left_out: tuple[NodeRefusal, ...]


@dataclass(frozen=True, slots=True)
class Failed:
    """More nodes refuse it, or do not answer, than may be left out."""

    refusals: tuple[NodeRefusal, ...]


@dataclass(frozen=True, slots=True)
class Incomplete:
    """Some may still answer."""


Verdict = Complete | Failed | Incomplete


@dataclass(slots=True)
class _Waiting:
    """An online node that has not answered."""

    since_s: float
    published_s: float


@dataclass(slots=True)
class BatchStaging:
    """`may_fail` nodes of the batch may refuse or stay silent; `limit_s` and `answer_s` as in `RolloutTiming`."""

    revision: int
    nodes: frozenset[str]
    wanted: Mapping[str, Held]
    timing: RolloutTiming
    may_fail: int
    limit_s: float
    answer_s: float
    started_s: float
    staged: set[str] = field(default_factory=set)
    refusals: dict[str, NodeRefusal] = field(default_factory=dict)
    _waiting: dict[str, _Waiting] = field(default_factory=dict)
    _refused_s: float | None = None

    @property
    def nodes_expected(self) -> int:
        """Nodes that count: online, and staged, asked or refusing."""
        return len(self.staged) + len(self._waiting) + len(self.refusals.keys() - self.staged)

    def note(self, node: str, *, online: bool, reported: Reported | None, now_s: float) -> None:
        """A node's state has changed, or not: hearing the same again is harmless. A refusal stands."""
        if node not in self.nodes:
            return
        if not online:
            self._waiting.pop(node, None)
            self.staged.discard(node)
            return
        if reported is not None and self.wanted[node] in (reported.staged, reported.showing):
            self._waiting.pop(node, None)
            self.staged.add(node)
            return
        self.staged.discard(node)
        if reported is not None and reported.refusal is not None and reported.refusal.revision == self.revision:
            refusal = reported.refusal
            self._waiting.pop(node, None)
            self.refusals[node] = NodeRefusal(node, refusal.field, refusal.reason, refusal.remedy)
            if self._refused_s is None:
                self._refused_s = now_s
        elif node not in self.refusals:
            self._waiting.setdefault(node, _Waiting(now_s, now_s))

    def verdict(self, now_s: float, *, time_passed: bool) -> Verdict:
        """Refusals beyond `may_fail` wait a moment for others, so that all are told at once.

        Who is late is looked up only when `time_passed`, since that walks over all who have not answered.
        """
        refused = tuple(self.refusals.values())
        if len(refused) > self.may_fail:
            gathered = self._refused_s is None or now_s >= self._refused_s + self.timing.gather_s
            return Incomplete() if self._waiting and not gathered else Failed(refused)
        if not self._waiting:
            return Complete(refused)
        late = self._late(now_s) if time_passed else []
        failed = (*refused, *(self._silence(node) for node in late))
        if len(failed) > self.may_fail:
            return Failed(failed)
        return Incomplete() if len(late) < len(self._waiting) else Complete(failed)

    def due_again(self, now_s: float) -> Iterable[str]:
        """Nodes that have not answered and whose document is to be published again now."""
        after_s = self.timing.restage_s + self.timing.restage_per_node_s * len(self.nodes)
        due = [node for node, waiting in self._waiting.items() if now_s >= waiting.published_s + after_s]
        for node in due[: self.timing.restage_batch]:
            self._waiting[node].published_s = now_s
            yield node

    def give_time(self, now_s: float) -> None:
        """Whoever has not answered yet is waited for from now on."""
        self.started_s = now_s
        for waiting in self._waiting.values():
            waiting.since_s = now_s

    def _late(self, now_s: float) -> list[str]:
        out_of_time = now_s >= self.started_s + self.limit_s
        return [
            node for node, waiting in self._waiting.items() if out_of_time or now_s >= waiting.since_s + self.answer_s
        ]

    def _silence(self, node: str) -> NodeRefusal:
        return NodeRefusal(
            node,
            SILENCE,
            f"the node is online but did not answer within {self.answer_s:g} s",
            "see whether its board is overloaded and restart its agent, or switch it off: it then catches up later",
        )
