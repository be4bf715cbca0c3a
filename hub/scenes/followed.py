"""Which nodes of a venue follow the same: one revision, and in it one scene with one timetable."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from hub.rollout import InForce
from schemas import DesiredBody, Shown, TakeTime, shown_at


class Rollouts(Protocol):
    """What is needed of the rollout service."""

    def in_force(self, venue: str) -> InForce | None: ...

    def shown_before(self, venue: str) -> InForce | None: ...

    def ahead(self, venue: str) -> Mapping[str, InForce]:
        """Nodes that a rollout in batches has brought to another revision than the one in force."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Followed:
    """A revision, its take, the body of one of the nodes (for what is chosen to show, the same for all), the nodes."""

    in_force: InForce
    take: TakeTime
    body: DesiredBody
    nodes: tuple[str, ...]

    def shown(self, show_s: float) -> Shown:
        """What the nodes show once the revision is taken."""
        return shown_at(self.body, show_ms_of(show_s))


def show_ms_of(show_s: float) -> float:
    """To the microsecond, as boards do: a take's time in seconds is then its milliseconds again."""
    return round(show_s * 1_000, 3)


def followed_by(follows: Mapping[str, InForce]) -> tuple[Followed, ...]:
    """All nodes, the most first; `follows` is what each of them does."""
    groups: dict[tuple[int, int, int, str | None, int], list[str]] = {}
    for node, in_force in follows.items():
        compiled = in_force.prepared.documents.get(node)
        if compiled is not None:
            body, take = compiled.body, in_force.take_of(node)
            key = in_force.revision, take.at_ms, take.fade_ms, body.showing, body.showing_since_ms
            groups.setdefault(key, []).append(node)
    found = (_followed(follows[nodes[0]], tuple(nodes)) for nodes in groups.values())
    return tuple(sorted(found, key=lambda one: -len(one.nodes)))


def followed_at(
    show_s: float, in_force: InForce | None, before: InForce | None, ahead: Mapping[str, InForce]
) -> tuple[Followed, ...]:
    """What is taken by then; nodes whose take lies ahead follow what came before it, those with nothing are absent."""
    show_ms = show_ms_of(show_s)
    follows: dict[str, InForce] = {}
    for one in (before, in_force):
        if one is not None:
            follows |= {node: one for node in one.prepared.documents if one.take_of(node).at_ms <= show_ms}
    follows |= {node: one for node, one in ahead.items() if one.take_of(node).at_ms <= show_ms}
    there = frozenset() if in_force is None else in_force.prepared.documents.keys() | ahead.keys()
    return followed_by({node: one for node, one in follows.items() if node in there})


def _followed(in_force: InForce, nodes: tuple[str, ...]) -> Followed:
    return Followed(in_force, in_force.take_of(nodes[0]), in_force.prepared.documents[nodes[0]].body, nodes)
