"""Errors logged: the node's agent goes on logging errors."""

from typing import Final

from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight

# In the last five to ten minutes (common practice, no source). A line that stays dark is logged every few seconds.
ERRORS: Final = 3
ERRORS_WHILE_OPEN: Final = 1


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    board = sight.board
    if board is None:
        return UNKNOWN
    errors = sight.errors.lately
    if errors < (ERRORS_WHILE_OPEN if open_now else ERRORS):
        return GOOD
    return Fault(sight.node.node, {"errors_lately": errors, "errors": board.errors})


def words(node: str, evidence: Evidence) -> Words:
    return Words(
        f"The agent of {node} has logged {evidence['errors_lately']} errors within minutes, {evidence['errors']} since "
        "it started.",
        "A data output that does not open, a disk that takes nothing, or a fault of the agent.",
        "Read the agent's log on the board: each error names what failed and what to do about it.",
    )


RULE: Final = Rule(FindingKind.ERRORS_LOGGED, Severity.WARNING, Hysteresis(opens_after_s=0.0, ends_after_s=60.0), words)
