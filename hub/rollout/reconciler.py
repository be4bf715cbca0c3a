"""Which nodes of a venue need their document again: level-triggered, pure, idle when nothing differs.

What a node reports is compared with what is in force. A node that differs gets its document again after a moment's
grace (it may be on its way), then ever more seldom; nothing is counted, so nothing can be missed.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from schemas import Held, Reported

GRACE_S: Final = 2.0
LONGEST_DELAY_S: Final = 60.0
BATCH: Final = 50


@dataclass(slots=True)
class _Differing:
    """A node that is online and does not show what is in force."""

    due_s: float
    delay_s: float = GRACE_S


class Reconciler:
    """For one venue, on the fleet loop's thread."""

    def __init__(self) -> None:
        self._wanted: Mapping[str, Held] = {}
        self._shows_from_s = 0.0
        self._owed: dict[str, None] = {}
        self._differing: dict[str, _Differing] = {}

    @property
    def idle(self) -> bool:
        return not self._owed and not self._differing

    def set_in_force(self, wanted: Mapping[str, Held], shows_from_s: float) -> None:
        """From now on nodes should hold this, and show it from `shows_from_s` (show time)."""
        self._wanted = wanted
        self._shows_from_s = shows_from_s
        self._differing.clear()
        self._owed = {node: None for node in self._owed if node in wanted}

    def owe(self, nodes: Iterable[str]) -> None:
        """These get their document once, whatever they report: what the broker keeps for them is outdated."""
        self._owed.update(dict.fromkeys(node for node in nodes if node in self._wanted))

    def observe(self, node: str, *, online: bool, reported: Reported | None, now_s: float) -> None:
        """A node's state has changed, or not."""
        wanted = self._wanted.get(node)
        if wanted is None or not online or (reported is not None and reported.showing == wanted):
            self._differing.pop(node, None)
        elif node not in self._differing:
            self._differing[node] = _Differing(max(now_s, self._shows_from_s) + GRACE_S)

    def due(self, now_s: float, batch: int = BATCH) -> list[str]:
        """Nodes whose document is to be published now, at most `batch` of them; the others' turn comes."""
        nodes = list(self._owed)[:batch]
        for node in nodes:
            del self._owed[node]
        for node, differing in self._differing.items():
            if len(nodes) >= batch:
                break
            if now_s >= differing.due_s:
                differing.due_s = now_s + differing.delay_s
                differing.delay_s = min(2 * differing.delay_s, LONGEST_DELAY_S)
                nodes.append(node)
        return nodes
