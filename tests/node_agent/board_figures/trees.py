"""Trees of files as a board's kernel would show them."""

from collections.abc import Mapping
from pathlib import Path

from node_agent.board_figures import Tree


def tree_of(root: Path, files: Mapping[str, str]) -> Tree:
    for path, content in files.items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(content)
    return Tree(root)
