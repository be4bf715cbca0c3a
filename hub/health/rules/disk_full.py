"""Disk full: little room is left on the disk that holds the agent's state."""

from typing import Final

from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.figures import percent
from hub.health.sight import NodeSight

# Of what programs may fill: file systems keep as much again for the system by default, see mke2fs(8), option -m.
FULL_FREE_SHARE: Final = 0.05
ROOM_FREE_SHARE: Final = 0.08


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    board = sight.board
    if board is None or board.disk_free_share is None:
        return UNKNOWN
    if board.disk_free_share >= (ROOM_FREE_SHARE if open_now else FULL_FREE_SHARE):
        return GOOD
    return Fault(sight.node.node, {"disk_free_share": round(board.disk_free_share, 4)})


def words(node: str, evidence: Evidence) -> Words:
    return Words(
        f"The disk of {node} has {percent(evidence['disk_free_share'])} free: soon it can keep no new revision.",
        "Logs that nobody rotates, or files that somebody left there.",
        "See on the board which folder is the largest, mostly its logs, and bound them; the agent itself needs a few "
        "megabytes.",
    )


RULE: Final = Rule(FindingKind.DISK_FULL, Severity.WARNING, Hysteresis(opens_after_s=60.0, ends_after_s=60.0), words)
