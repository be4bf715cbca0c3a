"""Throttled: the processor is slowed down, and neither heat nor low volts tell why."""

from typing import Final

from hub.cautions import HEAT, HEIGHT
from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.hot import throttled_for_heat
from hub.health.sight import NodeSight


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:  # noqa: ARG001 (as every rule of nodes)
    """One fault is told once: heat and low volts, which slow a processor down, are findings of their own."""
    told, board = sight.told, sight.board
    if told is None or board is None or board.throttled is None:
        return UNKNOWN
    if not board.throttled or board.under_voltage or throttled_for_heat(told):
        return GOOD
    return Fault(sight.node.node, {"temperature_c": told.temperature_c, "render_ms": round(told.render_ms, 3)})


def words(node: str, evidence: Evidence) -> Words:
    at = "" if evidence["temperature_c"] is None else f", at {evidence['temperature_c']} °C"
    return Words(
        f"{node} slows its processor down{at}: movement may stutter.",
        "A limit that the board's own system sets: its own for heat, for power, or a governor that saves energy.",
        "Read the kernel's log on the board for what limits it; feel whether it is hot, and see that its supply is up "
        "to its load.",
    )


RULE: Final = Rule(
    FindingKind.THROTTLED,
    Severity.NOTICE,
    Hysteresis(opens_after_s=60.0, ends_after_s=60.0),
    words,
    cautions=(HEAT, HEIGHT),
)
