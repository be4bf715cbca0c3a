"""The disk that holds the agent's state: room, whether it takes writes, how worn its flash memory is."""

import os
from dataclasses import dataclass
from pathlib import Path

from node_agent.board_figures.tree import Tree


@dataclass(frozen=True, slots=True)
class DiskRoom:
    """Share that an unprivileged program may still fill; whether the system mounts it read-only, as after errors."""

    free_share: float | None
    read_only: bool


def disk_room(folder: Path) -> DiskRoom | None:
    """By statvfs(3)."""
    try:
        figures = os.statvfs(folder)
    except OSError:
        return None
    free_share = min(figures.f_bavail / figures.f_blocks, 1.0) if figures.f_blocks else None
    return DiskRoom(free_share, bool(figures.f_flag & os.ST_RDONLY))


def block_device_of(folder: Path) -> str | None:
    """A tree's path of the device that holds the folder; None for what is no disk of its own (overlay, memory)."""
    try:
        device = folder.stat().st_dev
    except OSError:
        return None
    if os.major(device) == 0:
        return None
    return f"sys/dev/block/{os.major(device)}:{os.minor(device)}"


def worn_share(tree: Tree, block: str) -> float | None:
    """How much of an eMMC's life is used up, for the worse of its two kinds of memory.

    `life_time` has the two estimates of the eMMC standard (JESD84-B51, EXT_CSD bytes 268 and 269; meaning from memory):
    1 is up to a tenth used, 10 up to all, 11 more than estimated, 0 not told. The upper edge of each tenth is given. SD
    cards have none.
    """
    for device in (f"{block}/device", f"{block}/../device"):  # of a whole disk; of a partition's disk
        steps = [_step(word) for word in (tree.text(f"{device}/life_time") or "").split()]
        told = [step for step in steps if 1 <= step <= 11]
        if told:
            return min(max(told) / 10, 1.0)
    return None


def _step(word: str) -> int:
    try:
        return int(word, 16)
    except ValueError:
        return 0
