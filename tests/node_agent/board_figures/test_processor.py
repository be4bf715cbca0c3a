"""Busy share between two readings of proc_stat(5)."""

from pathlib import Path

from node_agent.board_figures.processor import ProcessorShare
from tests.node_agent.board_figures.trees import tree_of

FIRST = "cpu  100 0 100 700 100 0 0 0 50 0\ncpu0 1 2 3\n"
"""Guests' time, the ninth figure, is in the first one already."""


def test_busy_share_is_of_the_time_between(tmp_path: Path) -> None:
    share = ProcessorShare(tree_of(tmp_path, {"proc/stat": FIRST}))
    assert share.read() is None
    tree_of(tmp_path, {"proc/stat": "cpu  120 0 110 750 110 5 5 0 60 0\n"})
    assert share.read() == 0.4  # of 100 ticks 50 idle and 10 waiting for the disk
    assert share.read() is None  # no time between
    tree_of(tmp_path, {"proc/stat": "nonsense"})
    assert share.read() is None
