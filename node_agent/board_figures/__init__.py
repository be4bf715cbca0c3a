"""What the board's own system says of itself: read from the files that Linux exposes, nothing asked of any program."""

from node_agent.board_figures.logged_errors import LoggedErrors
from node_agent.board_figures.reader import BoardReader
from node_agent.board_figures.starts import KeptStarts, StartRecord
from node_agent.board_figures.tree import Tree

__all__ = ["BoardReader", "KeptStarts", "LoggedErrors", "StartRecord", "Tree"]
