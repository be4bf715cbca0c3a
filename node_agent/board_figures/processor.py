"""How busy the board's processors are, as the kernel counts it."""

from typing import Final

from node_agent.board_figures.tree import Tree

_COLUMNS: Final = 8  # user, nice, system, idle, iowait, irq, softirq, steal; guests' time is in the first two
_IDLE: Final = (3, 4)


class ProcessorShare:
    """Busy share between two readings, from the first line of proc_stat(5); None at the first."""

    def __init__(self, tree: Tree) -> None:
        self._tree = tree
        self._before: tuple[int, int] | None = None

    def read(self) -> float | None:
        before, self._before = self._before, self._counts()
        if before is None or self._before is None:
            return None
        total, idle = (now - then for now, then in zip(self._before, before, strict=True))
        return min(max(1 - idle / total, 0.0), 1.0) if total > 0 else None

    def _counts(self) -> tuple[int, int] | None:
        """All time and idle time since the board started, in clock ticks."""
        words = (self._tree.text("proc/stat") or "").partition("\n")[0].split()[1 : 1 + _COLUMNS]
        if len(words) < max(_IDLE) + 1 or not all(word.isdecimal() for word in words):
            return None
        ticks = [int(word) for word in words]
        return sum(ticks), sum(ticks[place] for place in _IDLE)
