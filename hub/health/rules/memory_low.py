"""Memory low: the board has little memory left for programs."""

from typing import Final

from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.figures import percent
from hub.health.sight import NodeSight

# Common practice, no source.
LOW_FREE_SHARE: Final = 0.05
ENOUGH_FREE_SHARE: Final = 0.10


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    board = sight.board
    if board is None or board.memory_free_share is None:
        return UNKNOWN
    if board.memory_free_share >= (ENOUGH_FREE_SHARE if open_now else LOW_FREE_SHARE):
        return GOOD
    return Fault(sight.node.node, {"memory_free_share": round(board.memory_free_share, 4)})


def words(node: str, evidence: Evidence) -> Words:
    return Words(
        f"{node} has {percent(evidence['memory_free_share'])} of its memory free: its system may soon end programs.",
        "Another program on the board, or one that grows and never gives back.",
        "List the board's programs by memory and stop what the board is not there for; if it is the agent, note its "
        "uptime and restart it.",
    )


RULE: Final = Rule(FindingKind.MEMORY_LOW, Severity.WARNING, Hysteresis(opens_after_s=120.0, ends_after_s=60.0), words)
