"""What the hub knows of each node from the node's own words. Owned by the fleet loop's thread."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from schemas import Answer, Presence, Reported, Telemetry


@dataclass(slots=True)
class NodeState:
    """One node of the inventory. Times are show time, seconds; `heard_at_s` counts live words, never retained ones.

    `boot_id` and `session` are None until a birth named them: the node's state is then unknown, and it is asked for
    rebirth. `answer` and `answer_at_s` hold the answer just received while listeners are told of it.
    """

    venue: str
    node: str
    online: bool = False
    presence: Presence | None = None
    boot_id: str | None = None
    session: int | None = None
    agent_version: str | None = None
    heard_at_s: float | None = None
    born_at_s: float | None = None
    died_at_s: float | None = None
    reported: Reported | None = None
    telemetry: Telemetry | None = None
    telemetry_at_s: float | None = None
    answer: Answer | None = None
    answer_at_s: float | None = None
    dead_session: tuple[str, int] | None = None
    next_sequence: int | None = None
    sequence_gaps: int = 0
    needs_rebirth: bool = False
    key: tuple[str, str] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self.key = (self.venue, self.node)


@dataclass(slots=True)
class FleetState:
    """Every node that the inventory names; whose state came into doubt; how many messages were refused, by kind."""

    nodes: dict[tuple[str, str], NodeState] = field(default_factory=dict)
    doubtful: dict[tuple[str, str], None] = field(default_factory=dict)
    rejected: Counter[str] = field(default_factory=Counter)

    def set_roster(self, venue: str, nodes: Iterable[str]) -> None:
        """Hold exactly these nodes of the venue: states of nodes that stay are kept, of others dropped."""
        wanted = {(venue, node) for node in nodes}
        for key in [key for key in self.nodes if key[0] == venue and key not in wanted]:
            del self.nodes[key]
        for key in sorted(wanted - self.nodes.keys()):
            self.nodes[key] = NodeState(*key)

    def of_venue(self, venue: str) -> list[NodeState]:
        return [state for state in self.nodes.values() if state.venue == venue]
