"""Hot: the board's processor is near the temperature at which it must slow itself down, or slows down for heat."""

from typing import Final

from hub.cautions import HEAT, HEIGHT
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight
from schemas import Telemetry

# Processors of small Linux boards begin to slow down at 80 to 85 °C, and silicon of the commercial grade is rated to
# 85 °C or a little above (from memory).
HOT_C: Final = 80.0
COOL_C: Final = 75.0
# A processor that is slowed down at this temperature is slowed down for heat (common practice, no source).
WARM_C: Final = 70.0


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    told = sight.told
    if told is None or not sight.node.online or told.temperature_c is None:
        return UNKNOWN
    throttled = throttled_for_heat(told)
    if told.temperature_c < (COOL_C if open_now else HOT_C) and not throttled:
        return GOOD
    return Fault(sight.node.node, {"temperature_c": round(told.temperature_c, 1), "throttled": int(throttled)})


def throttled_for_heat(told: Telemetry) -> bool:
    slowed = told.board is not None and bool(told.board.throttled)
    return slowed and told.temperature_c is not None and told.temperature_c >= WARM_C


def words(node: str, evidence: Evidence) -> Words:
    slows = ", and slows its processor down: movement may stutter" if evidence["throttled"] else ""
    return Words(
        f"{node} is at {evidence['temperature_c']} °C{slows}.",
        "A closed housing, sun on the fascia, a supply as its neighbour, or vents full of dust.",
        "Give the board air: clear its vents, move it from supply and sun, fit a heat sink or a vented housing.",
    )


RULE: Final = Rule(
    FindingKind.HOT,
    Severity.WARNING,
    Hysteresis(opens_after_s=60.0, ends_after_s=60.0),
    words,
    cautions=(HEAT, HEIGHT),
    causes=(CauseKind.ZONE,),
    explains=(FindingKind.SLOW,),
)
