"""What the hub knows of each node from the node's own words. Owned by the fleet loop's thread."""

from collections import Counter, deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from hub.fleet.arrivals import Arrivals
from schemas import Answer, Presence, Reported, Telemetry

MAX_BOOTS: Final = 8
MAX_CONNECTIONS: Final = 16
MAX_STRANGERS: Final = 1_000


class Boot(NamedTuple):
    """A boot id, and when a birth first named it after another."""

    boot_id: str
    at_s: float


@dataclass(slots=True)
class NodeState:
    """One node of the inventory. Times are show time, seconds; `heard_at_s` counts live words, never retained ones.

    `boot_id` and `session` are None until a birth named them: the node's state is then unknown, and it is asked for
    rebirth. `answer` and `answer_at_s` hold the answer just received while listeners are told of it. `boots` and
    `connections` are the newest births that named another boot, or another session: an id that is in `boots` twice came
    back after another.
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
    boots: deque[Boot] = field(default_factory=lambda: deque(maxlen=MAX_BOOTS))
    connections: deque[float] = field(default_factory=lambda: deque(maxlen=MAX_CONNECTIONS))
    arrivals: Arrivals = field(default_factory=Arrivals)
    key: tuple[str, str] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self.key = (self.venue, self.node)


@dataclass(slots=True)
class Stranger:
    """Live telemetry on the topic of a node that the inventory does not name; its content is not looked at."""

    first_heard_at_s: float
    heard_at_s: float
    messages: int


@dataclass(slots=True)
class FleetState:
    """Every node that the inventory names; whose state came into doubt; how many messages were refused, by kind, and
    how many found no room.

    Of `strangers`, by venue and node, those heard last are kept, up to a bound.
    """

    nodes: dict[tuple[str, str], NodeState] = field(default_factory=dict)
    doubtful: dict[tuple[str, str], None] = field(default_factory=dict)
    rejected: Counter[str] = field(default_factory=Counter)
    dropped: int = 0
    strangers: dict[tuple[str, str], Stranger] = field(default_factory=dict)

    def set_roster(self, venue: str, nodes: Iterable[str]) -> None:
        """Hold exactly these nodes of the venue: states of nodes that stay are kept, of others dropped."""
        wanted = {(venue, node) for node in nodes}
        for key in [key for key in self.nodes if key[0] == venue and key not in wanted]:
            del self.nodes[key]
        for key in sorted(wanted - self.nodes.keys()):
            self.nodes[key] = NodeState(*key)
            self.strangers.pop(key, None)

    def forget_venue(self, venue: str) -> None:
        """Drop all of its nodes, and its strangers."""
        self.set_roster(venue, ())
        for key in [key for key in self.strangers if key[0] == venue]:
            del self.strangers[key]

    def forget_sequences(self) -> None:
        """What is sent while the hub is away is not lost by the nodes: their next telemetry follows nothing."""
        for state in self.nodes.values():
            state.next_sequence = None

    def heard_stranger(self, key: tuple[str, str], now_s: float) -> None:
        stranger = self.strangers.pop(key, None)
        if stranger is None:
            stranger = Stranger(now_s, now_s, 0)
            if len(self.strangers) >= MAX_STRANGERS:
                del self.strangers[next(iter(self.strangers))]
        stranger.heard_at_s = now_s
        stranger.messages += 1
        self.strangers[key] = stranger

    def of_venue(self, venue: str) -> list[NodeState]:
        return [state for state in self.nodes.values() if state.venue == venue]
