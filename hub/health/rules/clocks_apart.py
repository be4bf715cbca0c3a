"""Clocks apart: time synchronisation keeps the board's clock, and that says another time than the hub's."""

from typing import Final

from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight

CLOCKS_APART_MS: Final = 1_000.0
CLOCKS_TOGETHER_MS: Final = 500.0


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    told = sight.told
    if told is None or not sight.node.online or told.clock_offset_ms is None:
        return UNKNOWN
    limit_ms = CLOCKS_TOGETHER_MS if open_now else CLOCKS_APART_MS
    if not told.wall_clock_disciplined or abs(told.clock_offset_ms) <= limit_ms:
        return GOOD
    return Fault(sight.node.node, {"hub_ahead_s": round(told.clock_offset_ms / 1_000, 3)})


def words(node: str, evidence: Evidence) -> Words:
    ahead_s = float(str(evidence["hub_ahead_s"]))
    return Words(
        f"The hub's clock is {abs(ahead_s):.1f} s {'ahead of' if ahead_s > 0 else 'behind'} the clock of {node}, "
        "which time synchronisation keeps. The venue goes by the hub's.",
        "Time synchronisation does not run on the hub's machine, or does not reach its servers.",
        "See that it does; if so, look at the board's. Opening hours are off by as much until then.",
    )


RULE: Final = Rule(
    FindingKind.CLOCKS_APART,
    Severity.WARNING,
    Hysteresis(opens_after_s=30.0, ends_after_s=30.0),
    words,
    causes=(CauseKind.VENUE,),
)
