"""Double identity: two boards speak as one node, by one credential."""

from typing import Final

from hub.cautions import HEIGHT, POWER_OFF
from hub.health.births import boots_that_came_back
from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight

# In ten minutes. One may be a birth that was long on its way: brokers order only what one client sends.
COMEBACKS: Final = 2
COMEBACKS_WHILE_OPEN: Final = 1


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    node = sight.node
    if len(node.boots) <= COMEBACKS:
        return GOOD
    comebacks = boots_that_came_back(node, sight.now_s)
    if comebacks < (COMEBACKS_WHILE_OPEN if open_now else COMEBACKS):
        return GOOD
    return Fault(node.node, {"comebacks": comebacks, "boards": len({boot.boot_id for boot in node.boots})})


def words(node: str, evidence: Evidence) -> Words:  # noqa: ARG001 (as every rule's)
    return Words(
        f"Two boards speak as {node} and cut each other off: neither keeps its connection.",
        "A board's disk was copied, or a board that a spare replaced is back in service, with one credential in both.",
        f"Find the board that should not be {node}, mostly the one replaced last, and take it off, or give it a node "
        f"of its own in the inventory. Then give {node} a new credential.",
    )


RULE: Final = Rule(
    FindingKind.DOUBLE_IDENTITY,
    Severity.ALARM,
    Hysteresis(opens_after_s=0.0, ends_after_s=60.0),
    words,
    cautions=(POWER_OFF, HEIGHT),
    # Each of the two is heard only until the other comes, with numbers and a revision of its own. Their boots are two,
    # however often they take turns: restarts are not explained by that.
    explains=(FindingKind.FLAPPING, FindingKind.SILENT, FindingKind.LOST_TELEMETRY, FindingKind.BEHIND),
)
