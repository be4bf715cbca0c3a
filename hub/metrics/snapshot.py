"""What the metrics are made of, read in one go."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from hub.fleet.state import NodeState
from hub.health.register import Counted
from schemas import Telemetry


@dataclass(frozen=True, slots=True)
class NodeReading:
    """A node as it is now; `heard_at_s` is show time, gaps are those in the sequence of its telemetry."""

    venue: str
    node: str
    online: bool
    heard_at_s: float | None
    telemetry_gaps: int
    telemetry: Telemetry | None


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Everything that a collection tells. `supplies`: those of each venue's inventory."""

    nodes: tuple[NodeReading, ...]
    supplies: Mapping[str, frozenset[str]]
    findings: Mapping[str, Counter[Counted]]
    link_is_up: bool
    messages_rejected: Mapping[str, int]
    messages_dropped: int
    telemetry_stored: int
    telemetry_unstored: int


def reading_of(state: NodeState) -> NodeReading:
    """On the fleet loop's thread."""
    return NodeReading(state.venue, state.node, state.online, state.heard_at_s, state.sequence_gaps, state.telemetry)
