"""Disk worn: the board's flash memory is near the end of its life, or its system has stopped writing to it."""

from typing import Final

from hub.cautions import HEIGHT, POWER_OFF
from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.figures import percent
from hub.health.sight import NodeSight

# eMMC tells its life in tenths (JEDEC JESD84-B51, device life time estimation): 0.9 is the last but one.
WORN_SHARE: Final = 0.9


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:  # noqa: ARG001 (as every rule of nodes)
    board = sight.board
    if board is None or (board.disk_worn_share is None and board.disk_read_only is None):
        return UNKNOWN
    worn = board.disk_worn_share is not None and board.disk_worn_share >= WORN_SHARE
    if not worn and not board.disk_read_only:
        return GOOD
    return Fault(
        sight.node.node,
        {"read_only": int(bool(board.disk_read_only)), "disk_worn_share": board.disk_worn_share},
    )


def words(node: str, evidence: Evidence) -> Words:
    if evidence["read_only"]:
        return Words(
            f"The system of {node} no longer writes to its disk: after a power cut it comes back with what was there.",
            "The memory card is worn or was damaged by a power cut, and the system protects what is left.",
            "Read the kernel's log on the board for errors of its disk; put in a new card or a spare board before the "
            "next power cut.",
        )
    return Words(
        f"The disk of {node} has used up {percent(evidence['disk_worn_share'])} of its life.",
        "Flash memory wears out by writing, and logs write most.",
        "Plan a new card or a spare board while this one still runs; move the board's logs to memory.",
    )


RULE: Final = Rule(
    FindingKind.DISK_WORN,
    Severity.WARNING,
    Hysteresis(opens_after_s=60.0, ends_after_s=60.0),
    words,
    cautions=(POWER_OFF, HEIGHT),
)
