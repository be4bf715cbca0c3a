"""Keeps true what the broker keeps: each node's desired document, which it reads when it comes back.

Somebody may clear or overwrite one while its node is off, and no report would tell. So while nothing is rolled out the
broker is asked, some nodes a second and each now and then, what it keeps for them. What is twice not the document that
the node is to have is published anew. Two that write the same topic cannot make a storm of it: each repair of a node
makes the next wait longer.
"""

import logging
from collections import deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Final, Protocol

from hub.fleet.state import NodeState
from hub.link.retained import Found
from schemas import Leaf, node_topic

NAMED: Final = 3
TELLS_EVERY_S: Final = 2.0

log = logging.getLogger(__name__)

Key = tuple[str, str]
"""(venue, node)."""


class Documents(Protocol):
    """What the broker is to keep; on the fleet loop's thread."""

    def nodes_at_rest(self) -> Iterable[Key]:
        """Nodes that are to show something, of venues where nothing is under way."""
        ...

    def kept_document(self, venue: str, node: str) -> bytes | None:
        """Byte for byte; None while the node is about to get another, or is to have none."""
        ...

    def owe(self, venue: str, nodes: Iterable[str]) -> None:
        """Publish these nodes' documents again, as soon as can be."""
        ...


class Looks(Protocol):
    """Asks the broker what it keeps."""

    def look(self, topics: Iterable[str], found: Found) -> None: ...

    def expire(self) -> None: ...


@dataclass(frozen=True, slots=True)
class WatchTiming:
    """`a_second` nodes are looked at, each once in `round_s` at most; what looks wrong again after `second_look_s`.

    A node's next repair waits `first_rest_s`, then twice as long each time, at most `longest_rest_s`.
    """

    a_second: float = 25.0
    round_s: float = 20.0
    second_look_s: float = 3.0
    first_rest_s: float = 10.0
    longest_rest_s: float = 600.0


@dataclass(slots=True)
class _Repaired:
    """A node whose document was published anew; while it stays right, it is forgotten after its rest."""

    until_s: float
    rest_s: float


class RetainedWatch:
    """A listener of the fleet loop. `hand_over(work)` runs `work` on the loop's thread, from any other."""

    def __init__(
        self,
        documents: Documents,
        looks: Looks,
        hand_over: Callable[[Callable[[], None]], object],
        timing: WatchTiming | None = None,
    ) -> None:
        self._documents = documents
        self._looks = looks
        self._hand_over = hand_over
        self._timing = timing or WatchTiming()
        self._round: deque[Key] = deque()
        self._next_round_s = 0.0
        self._allowed = 0.0
        self._ticked_s: float | None = None
        self._second_looks: deque[tuple[float, Key]] = deque()
        self._suspected: set[Key] = set()
        self._repaired: dict[Key, _Repaired] = {}
        self._untold: dict[Key, bool] = {}
        self._tells_from_s = 0.0
        self._now_s = 0.0

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        """Nothing that a node says is of concern here."""

    def link_changed(self, connected: bool, now_s: float) -> None:  # noqa: ARG002 (the loop's words)
        """What was begun over a connection that is gone tells nothing; another broker may be empty."""
        self._second_looks.clear()
        self._suspected.clear()
        self._round.clear()
        self._next_round_s = now_s

    def tick(self, now_s: float) -> None:
        self._now_s = now_s
        self._looks.expire()
        passed_s = 0.0 if self._ticked_s is None else max(0.0, now_s - self._ticked_s)
        self._ticked_s = now_s
        self._allowed = min(self._allowed + passed_s * self._timing.a_second, self._timing.a_second)
        if not self._round and now_s >= self._next_round_s:
            self._next_round_s = now_s + self._timing.round_s
            self._round.extend(self._documents.nodes_at_rest())
            self._repaired = {key: one for key, one in self._repaired.items() if now_s < one.until_s + one.rest_s}
        chosen = [self._next(now_s) for _ in range(int(self._allowed))]
        keys = {node_topic(*key, Leaf.DESIRED): key for key in chosen if key is not None}
        self._allowed -= len(keys)
        if keys:
            self._looks.look(keys, partial(self._found_elsewhere, keys))
        self._tell(now_s)

    def _next(self, now_s: float) -> Key | None:
        if self._second_looks and now_s >= self._second_looks[0][0]:
            return self._second_looks.popleft()[1]
        return self._round.popleft() if self._round else None

    def _found_elsewhere(self, keys: Mapping[str, Key], topic: str, payload: bytes | None) -> None:
        self._hand_over(partial(self._found, keys[topic], payload))

    def _found(self, key: Key, payload: bytes | None) -> None:
        venue, node = key
        wanted = self._documents.kept_document(venue, node)
        suspected = key in self._suspected
        self._suspected.discard(key)
        if wanted is None or payload == wanted:
            return
        if not suspected:
            # It may have been on its way, from here or to here.
            self._suspected.add(key)
            self._second_looks.append((self._now_s + self._timing.second_look_s, key))
            return
        before = self._repaired.get(key)
        if before is not None and self._now_s < before.until_s:
            return
        rest_s = self._timing.first_rest_s if before is None else min(2 * before.rest_s, self._timing.longest_rest_s)
        self._repaired[key] = _Repaired(self._now_s + rest_s, rest_s)
        self._documents.owe(venue, [node])
        self._untold[key] = before is not None

    def _tell(self, now_s: float) -> None:
        """One line for all that was found: of a broker that lost everything it is every node."""
        if not self._untold or now_s < self._tells_from_s:
            return
        self._tells_from_s = now_s + TELLS_EVERY_S
        named = ", ".join("/".join(key) for key in list(self._untold)[:NAMED])
        others = f" and {len(self._untold) - NAMED} more" if len(self._untold) > NAMED else ""
        again = (
            "; it was so before: somebody else writes there, perhaps another hub; look who has the hub's credential"
            if any(self._untold.values())
            else ""
        )
        log.warning("the broker did not keep the desired documents of %s%s; published again%s", named, others, again)
        self._untold.clear()
