"""Which nodes of a venue follow the same: one revision, and in it one scene with one timetable. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass

from hub.rollout import InForce
from schemas import DesiredBody, Shown, TakeTime, shown_at


@dataclass(frozen=True, slots=True, eq=False)
class Followed:
    """A revision, its take, the body of one of the nodes (for what is chosen to show, the same for all), the nodes."""

    in_force: InForce
    take: TakeTime
    body: DesiredBody
    nodes: tuple[str, ...]

    def shown(self, show_s: float) -> Shown:
        """What the nodes show once the revision is taken."""
        return shown_at(self.body, show_s * 1_000)


def followed_by(in_force: InForce, ahead: Mapping[str, InForce]) -> tuple[Followed, ...]:
    """All nodes, the most first. `ahead` are nodes that a rollout in batches has brought to another revision."""
    groups: dict[tuple[int, int, int, str | None, int], list[str]] = {}
    for node in dict.fromkeys((*in_force.prepared.documents, *ahead)):
        follows = ahead.get(node, in_force)
        compiled = follows.prepared.documents.get(node)
        if compiled is not None:
            body, take = compiled.body, follows.take_of(node)
            key = follows.revision, take.at_ms, take.fade_ms, body.showing, body.showing_since_ms
            groups.setdefault(key, []).append(node)
    found = (_followed(ahead.get(nodes[0], in_force), tuple(nodes)) for nodes in groups.values())
    return tuple(sorted(found, key=lambda one: -len(one.nodes)))


def _followed(in_force: InForce, nodes: tuple[str, ...]) -> Followed:
    return Followed(in_force, in_force.take_of(nodes[0]), in_force.prepared.documents[nodes[0]].body, nodes)
