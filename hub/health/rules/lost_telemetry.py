"""Lost telemetry: more of what the node sends is lost on the way than a sound network loses."""

from typing import Final

from hub.cautions import HEIGHT
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.figures import percent
from hub.health.sight import NodeSight

# Of ten minutes. At a loss of 1 %, which is sound, and one message in 5 s, twelve lost of 120 come by chance once in
# 200 million times (binomial distribution).
LOST: Final = 12
LOST_SHARE: Final = 0.10
LOST_SHARE_WHILE_OPEN: Final = 0.05


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    node = sight.node
    if node.sequence_gaps == 0:
        return GOOD
    if not node.online:
        return UNKNOWN
    received, lost = node.arrivals.recent(sight.now_s)
    share = lost / (received + lost) if lost else 0.0
    if share < LOST_SHARE_WHILE_OPEN if open_now else lost < LOST or share < LOST_SHARE:
        return GOOD
    return Fault(node.node, {"lost": lost, "lost_share": round(share, 3), "minutes": 10})


def words(node: str, evidence: Evidence) -> Words:
    return Words(
        f"Of what {node} told in the last ten minutes {percent(evidence['lost_share'])} never came: {evidence['lost']} "
        "messages.",
        "A poor radio path or a bad cable, a full network, or a broker that drops what it cannot pass on.",
        "Compare with its neighbours on the same switch: if they lose too, look at switch and broker; if not, at this "
        "board's cable or antenna.",
    )


RULE: Final = Rule(
    FindingKind.LOST_TELEMETRY,
    Severity.WARNING,
    Hysteresis(opens_after_s=0.0, ends_after_s=60.0),
    words,
    cautions=(HEIGHT,),
    causes=(CauseKind.SWITCH, CauseKind.VENUE),
    # Three messages lost in a row are a silence.
    explains=(FindingKind.SILENT,),
)
