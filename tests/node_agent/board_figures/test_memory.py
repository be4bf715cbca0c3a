"""Memory that is left, from proc_meminfo(5)."""

from pathlib import Path

import pytest

from node_agent.board_figures.memory import memory_free_share
from tests.node_agent.board_figures.trees import tree_of

MEMINFO = (
    "MemTotal:         500000 kB\nMemFree:           20000 kB\nMemAvailable:     125000 kB\nHugePages_Total:       0\n"
)


def test_what_programs_could_have_counts_not_what_lies_idle(tmp_path: Path) -> None:
    assert memory_free_share(tree_of(tmp_path, {"proc/meminfo": MEMINFO})) == 0.25


@pytest.mark.parametrize("content", ["", "MemTotal: much kB\n", "MemTotal: 0 kB\nMemAvailable: 0 kB\n", "\x00\xff"])
def test_board_that_does_not_tell_has_no_figure(tmp_path: Path, content: str) -> None:
    assert memory_free_share(tree_of(tmp_path, {"proc/meminfo": content})) is None
