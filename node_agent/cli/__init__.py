"""The command line of a board, `stringcourse-node`: it only parses and calls."""

from node_agent.cli.main import main

__all__ = ["main"]
