"""Which nodes of a venue need their document again: level-triggered, pure, idle when nothing differs.

What a node reports is compared with what it is to show. A node that differs gets its document again after a moment's
grace (it may be on its way), then ever more seldom, each at moments of its own; nothing is counted, so nothing can be
missed. A turn looks at those whose time has come and at nobody else, whatever the size of the venue.
"""

import heapq
import itertools
import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from schemas import Held, Reported

GRACE_S: Final = 2.0
LONGEST_DELAY_S: Final = 60.0
JITTER: Final = 0.25
"""Share of a delay by which it is drawn longer or shorter, so that nodes which fell behind together do not ask together
for ever."""
BATCH: Final = 50
LOOKED_AT: Final = 4
"""Times BATCH: how many entries of the queue a turn looks at; those of nodes that caught up meanwhile are put aside."""


@dataclass(slots=True)
class _Differing:
    """A node that is online and does not show what it is to show."""

    due_s: float
    delay_s: float = GRACE_S


class Reconciler:
    """For one venue, on the fleet loop's thread."""

    def __init__(self, chance: random.Random | None = None) -> None:
        self._chance = chance or random.Random()  # noqa: S311 (nobody gains by guessing it)
        self._wanted: Mapping[str, Held] = {}
        self._shows_from_s = 0.0
        self._owed: dict[str, None] = {}
        self._differing: dict[str, _Differing] = {}
        self._queue: list[tuple[float, str]] = []

    @property
    def idle(self) -> bool:
        return not self._owed and not self._differing

    def set_in_force(self, wanted: Mapping[str, Held], shows_from_s: float) -> None:
        """From now on nodes should hold this, each its own, and show it from `shows_from_s` (show time)."""
        self._wanted = wanted
        self._shows_from_s = shows_from_s
        self._differing.clear()
        self._queue.clear()
        self._owed = {node: None for node in self._owed if node in wanted}

    def owe(self, nodes: Iterable[str]) -> None:
        """These get their document once, whatever they report: what the broker keeps for them is outdated.

        Not before the show time that they are to show it from.
        """
        self._owed.update(dict.fromkeys(node for node in nodes if node in self._wanted))

    def owes(self, node: str) -> bool:
        return node in self._owed

    def observe(self, node: str, *, online: bool, reported: Reported | None, now_s: float) -> None:
        """A node's state has changed, or not."""
        wanted = self._wanted.get(node)
        if wanted is None or not online or (reported is not None and reported.showing == wanted):
            self._differing.pop(node, None)
        elif node not in self._differing:
            self._put(node, _Differing(max(now_s, self._shows_from_s) + GRACE_S))

    def due(self, now_s: float, batch: int = BATCH) -> list[str]:
        """Nodes whose document is to be published now, at most `batch` of them; the others' turn comes."""
        # Until then the take is repeated; documents beside it would only keep boards from hearing it in time.
        nodes = list(itertools.islice(self._owed, batch if now_s >= self._shows_from_s else 0))
        for node in nodes:
            del self._owed[node]
        for _ in range(LOOKED_AT * batch):
            if len(nodes) >= batch or not self._queue or self._queue[0][0] > now_s:
                break
            due_s, node = heapq.heappop(self._queue)
            differing = self._differing.get(node)
            if differing is None or differing.due_s != due_s:
                continue  # it caught up; if it differs again, that is another entry
            nodes.append(node)
            wait_s = differing.delay_s * self._chance.uniform(1 - JITTER, 1 + JITTER)
            self._put(node, _Differing(now_s + wait_s, min(2 * differing.delay_s, LONGEST_DELAY_S)))
        return nodes

    def _put(self, node: str, differing: _Differing) -> None:
        self._differing[node] = differing
        heapq.heappush(self._queue, (differing.due_s, node))
