"""Restarting: the node's agent has started anew again and again."""

from typing import Final

from hub.cautions import GROUND, HEIGHT, MAINS, METER, POLARITY, POWER_OFF
from hub.health.births import boots_anew
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight

# In ten minutes. Whoever works at a board starts it once or twice (common practice, no source).
RESTARTS: Final = 3
RESTARTS_WHILE_OPEN: Final = 1


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    node = sight.node
    if len(node.boots) <= 1:
        return GOOD
    restarts = boots_anew(node, sight.now_s)
    if restarts < (RESTARTS_WHILE_OPEN if open_now else RESTARTS):
        return GOOD if node.online else UNKNOWN
    board = None if sight.told is None else sight.told.board
    return Fault(
        node.node,
        {
            "restarts": restarts,
            "start_cause": "unknown" if board is None else board.start_cause,
            "starts": None if board is None else board.starts,
        },
    )


_OF_THE_AGENT: Final = (
    "The agent ends by itself: it fails, or the system ends it for want of memory.",
    "Read the agent's log and the kernel's on the board for its last words; compare its version with the others'.",
)
_OF_THE_BOARD: Final = (
    "The board loses power or resets: a loose terminal, or volts that dip as its runs light up.",
    "Measure volts at the board's input while the scene is at its brightest; tighten terminals, and give the board a "
    "feed of its own from the supply, with the ground common.",
)
_BY_CAUSE: Final = {
    "power": _OF_THE_BOARD,
    "crash": _OF_THE_AGENT,
    "restart": (
        "Somebody, or the board's service manager, restarts the agent.",
        "Ask who works at it; then read the service manager's log on the board.",
    ),
    "reboot": (
        "Somebody, or the board's own watchdog or updates, shut it down in order.",
        "Ask who works at it; then read the board's log of shutdowns, its watchdog and its updates.",
    ),
}


def words(node: str, evidence: Evidence) -> Words:
    likely_cause, next_check = _BY_CAUSE.get(
        str(evidence["start_cause"]),
        (
            "The board loses power, or its agent ends by itself.",
            "See whether the board itself has been up for long: if so, read the agent's log; if not, measure volts at "
            "its input.",
        ),
    )
    return Words(f"{node} has started anew {evidence['restarts']} times in ten minutes.", likely_cause, next_check)


RULE: Final = Rule(
    FindingKind.RESTARTING,
    Severity.WARNING,
    # By then the newest start has told its cause.
    Hysteresis(opens_after_s=10.0, ends_after_s=60.0),
    words,
    cautions=(METER, POWER_OFF, POLARITY, GROUND, MAINS, HEIGHT),
    causes=(CauseKind.SUPPLY,),
    # It is away while it starts, and takes up its revision anew. Its births are no connections that come and go.
    explains=(FindingKind.SILENT, FindingKind.BEHIND),
)
