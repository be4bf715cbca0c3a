"""Weak signal: the board's radio link is near where it breaks."""

from typing import Final

from hub.cautions import HEIGHT
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight

# A receiver must read the slowest rate of 20 MHz channels at -82 dBm and the fastest at -64 dBm (IEEE 802.11, least
# input levels of the high-throughput physical layer; from memory). Some 7 dB of the former is little to fade by.
WEAK_DBM: Final = -75.0
FAIR_DBM: Final = -72.0


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    board = sight.board
    if board is None:
        return UNKNOWN
    if board.link == "wired":
        return GOOD
    if board.signal_dbm is None:
        return UNKNOWN
    if board.signal_dbm >= (FAIR_DBM if open_now else WEAK_DBM):
        return GOOD
    return Fault(sight.node.node, {"signal_dbm": round(board.signal_dbm, 1), "link_mbit_per_s": board.link_mbit_per_s})


def words(node: str, evidence: Evidence) -> Words:
    return Words(
        f"{node} hears its access point at {evidence['signal_dbm']} dBm only: its connection may break.",
        "Distance, metal or people between them: a fascia, shutters, a full house.",
        "Turn or move the antenna out of the metal, bring an access point nearer, or lay a cable.",
    )


RULE: Final = Rule(
    FindingKind.WEAK_SIGNAL,
    Severity.WARNING,
    Hysteresis(opens_after_s=120.0, ends_after_s=120.0),
    words,
    cautions=(HEIGHT,),
    causes=(CauseKind.SWITCH,),
    # A radio link that is near its end breaks, loses and jitters.
    explains=(FindingKind.FLAPPING, FindingKind.LOST_TELEMETRY, FindingKind.SKEWED),
)
