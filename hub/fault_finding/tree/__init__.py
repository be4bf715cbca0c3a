"""The tree of fault finding: a file for what belongs together, and the book that joins them."""

from hub.fault_finding.tree.book import TREE

__all__ = ["TREE"]
