"""Silent: the node is not connected."""

from typing import Final

from hub.cautions import FUSE, HEIGHT, MAINS, POLARITY, POWER_OFF
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.figures import milliseconds
from hub.health.sight import NodeSight

# After the hub's own link is back, boards reconnect with jitter of up to 10 s.
RECONNECT_GRACE_S: Final = 12.0
# A board that was never heard may still be on its way to the wall.
NEVER_HEARD_GRACE_S: Final = 60.0
# A board that only starts anew or reconnects is back by then (common practice, no source).
EXPLAINED_FOR_S: Final = 120.0


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:  # noqa: ARG001 (as every rule of nodes)
    """While our own link is down, or just back, nobody's silence says anything."""
    node, now_s, link_up_at_s = sight.node, sight.now_s, sight.link.up_at_s
    if node.online:
        return GOOD
    if link_up_at_s is None:
        return UNKNOWN
    if node.heard_at_s is None:
        grace_s = NEVER_HEARD_GRACE_S if node.presence is None else RECONNECT_GRACE_S
        if now_s <= max(link_up_at_s, sight.known_since_s) + grace_s:
            return UNKNOWN
    elif node.heard_at_s < link_up_at_s and now_s <= link_up_at_s + RECONNECT_GRACE_S:
        return UNKNOWN
    told_by_will = node.died_at_s is not None and (node.heard_at_s is None or node.died_at_s >= node.heard_at_s)
    return Fault(
        node.node,
        {
            "last_heard_at_ms": milliseconds(node.heard_at_s),
            "told_by": "last will" if told_by_will else "no word" if node.heard_at_s is not None else "never heard",
            "died_at_ms": milliseconds(node.died_at_s) if told_by_will else None,
        },
    )


def words(node: str, evidence: Evidence) -> Words:
    if evidence["told_by"] == "never heard":
        return Words(
            f"{node} has not been heard since the hub started.",
            "The board has no power, its agent is not started, or its credential is another node's or broker's.",
            "See whether the board's power light is on; then whether its agent runs, and which node, broker and "
            "credential it was given.",
        )
    if evidence["told_by"] == "last will":
        return Words(
            f"{node} lost its connection.",
            "The board lost power or network, or its agent ended.",
            "Look whether its pixels still move: if so, check its network; if not, the board's supply and its fuse, "
            "then the agent's log.",
        )
    return Words(
        f"{node} has said nothing for three telemetry intervals, though nobody has told of its end.",
        "The network between board and hub is cut, or the board hangs.",
        "Reach for the board over the network: if nothing answers, check cable, switch and radio; if it does, read the "
        "agent's log.",
    )


RULE: Final = Rule(
    FindingKind.SILENT,
    Severity.ALARM,
    # A board that lost its connection for a moment comes back within a second.
    Hysteresis(opens_after_s=1.0, ends_after_s=3.0),
    words,
    cautions=(POWER_OFF, POLARITY, FUSE, MAINS, HEIGHT),
    causes=(CauseKind.SUPPLY, CauseKind.SWITCH, CauseKind.ZONE, CauseKind.VENUE),
    explained_for_s=EXPLAINED_FOR_S,
)
