"""Flapping: the node's connection comes and goes, while its agent runs on."""

from typing import Final

from hub.cautions import HEIGHT, POWER_OFF
from hub.health.births import connections_of_same_boot
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight

# In ten minutes (common practice, no source).
CONNECTIONS: Final = 4
CONNECTIONS_WHILE_OPEN: Final = 2


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    node = sight.node
    least = CONNECTIONS_WHILE_OPEN if open_now else CONNECTIONS
    if len(node.connections) < least:
        return GOOD
    connections = connections_of_same_boot(node, sight.now_s, sight.link.ups_s)
    if connections < least:
        return GOOD if node.online else UNKNOWN
    board = None if sight.told is None else sight.told.board
    return Fault(
        node.node,
        {
            "connections": connections,
            "link": None if board is None else board.link,
            "signal_dbm": None if board is None else board.signal_dbm,
        },
    )


def words(node: str, evidence: Evidence) -> Words:
    message = f"{node} has lost its connection and come back {evidence['connections']} times in ten minutes."
    if evidence["link"] == "wireless":
        signal = "" if evidence["signal_dbm"] is None else f", at {float(str(evidence['signal_dbm'])):.0f} dBm,"
        return Words(
            message,
            f"Its radio link{signal} is poor or its channel is crowded.",
            "Move antenna or access point, or change the radio channel; a cable ends it.",
        )
    return Words(
        message,
        "A bad plug, cable or switch port, or two devices with one network address.",
        "Push the plugs home, change the cable, try another port of the switch; then look for a second device with the "
        "board's address.",
    )


RULE: Final = Rule(
    FindingKind.FLAPPING,
    Severity.WARNING,
    Hysteresis(opens_after_s=0.0, ends_after_s=60.0),
    words,
    cautions=(POWER_OFF, HEIGHT),
    causes=(CauseKind.SWITCH, CauseKind.VENUE),
    explains=(FindingKind.SILENT, FindingKind.LOST_TELEMETRY),
)
