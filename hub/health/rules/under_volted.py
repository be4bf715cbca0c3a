"""Under-volted: the board's own monitor finds its supply too low."""

from typing import Final

from hub.cautions import GROUND, HEIGHT, MAINS, METER, POLARITY, POWER_OFF
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:  # noqa: ARG001 (as every rule of nodes)
    """The limit is the monitor's: for boards of 5 V about 4.6 V, under the 4.75 V that USB grants (from memory)."""
    told, board = sight.told, sight.board
    if told is None or board is None or board.under_voltage is None:
        return UNKNOWN
    if not board.under_voltage:
        return GOOD
    return Fault(sight.node.node, {"amps": round(sum(one.amps for one in told.supplies), 3)})


def words(node: str, evidence: Evidence) -> Words:
    return Words(
        f"{node} gets too few volts for its board, with its runs at {evidence['amps']} A: it may reset.",
        "Thin or long wire between supply and board, a loose terminal, or runs and board on one feed.",
        "Measure volts at the board's own input with the runs full on. Give the board a feed of its own from the "
        "supply's terminals, thicker and shorter, with the ground common.",
    )


RULE: Final = Rule(
    FindingKind.UNDER_VOLTED,
    Severity.WARNING,
    # The flag holds until the next telemetry: one dip, as when the runs start, is two intervals at most.
    Hysteresis(opens_after_s=15.0, ends_after_s=30.0),
    words,
    cautions=(METER, POWER_OFF, POLARITY, GROUND, MAINS, HEIGHT),
    causes=(CauseKind.SUPPLY,),
    # It resets, or slows its processor down. Silence is not in it: a supply that sags may also give up.
    explains=(FindingKind.RESTARTING, FindingKind.SLOW),
)
