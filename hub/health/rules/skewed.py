"""Skewed: the node's show time may be off by more than one of its frames, so that its part is seen to run apart."""

from typing import Final

from hub.cautions import HEIGHT
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight

# Of a frame period: below it the dispersion of a skewed node is well again.
WITHIN_A_FRAME_SHARE: Final = 0.9


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    told = sight.told
    if told is None or not sight.node.online or told.clock_dispersion_ms is None:
        return UNKNOWN
    if told.frame_rate_target_hz <= 0:
        return GOOD
    period_ms = 1_000 / told.frame_rate_target_hz
    if told.clock_dispersion_ms <= period_ms * (WITHIN_A_FRAME_SHARE if open_now else 1.0):
        return GOOD
    return Fault(
        sight.node.node,
        {"dispersion_ms": round(told.clock_dispersion_ms, 2), "frame_period_ms": round(period_ms, 2)},
    )


def words(node: str, evidence: Evidence) -> Words:
    return Words(
        f"{node} knows show time to {evidence['dispersion_ms']} ms only, more than its frame of "
        f"{evidence['frame_period_ms']} ms: its part may run ahead of or behind the rest.",
        "Its link to the hub is slow or jitters.",
        "Look for a poor radio path, a saturated network or a busy broker; a cable, or a lower frame rate of this "
        "node, helps.",
    )


RULE: Final = Rule(
    FindingKind.SKEWED,
    Severity.WARNING,
    Hysteresis(opens_after_s=30.0, ends_after_s=30.0),
    words,
    cautions=(HEIGHT,),
    causes=(CauseKind.SWITCH, CauseKind.VENUE),
)
