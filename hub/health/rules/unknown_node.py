"""Unknown node: somebody speaks as a node that the inventory does not name."""

from typing import Final

from hub.fleet.lifeline import RECONNECT_GRACE_S
from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, About, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.figures import milliseconds
from hub.health.sight import StrangerSight

# What a node said while it was taken out of the inventory is still on its way.
MESSAGES: Final = 3
HEARD_WITHIN_S: Final = 60.0


def judge(sight: StrangerSight, *, open_now: bool) -> Outcome:
    if sight.link.up_at_s is None:
        return UNKNOWN
    heard = sight.heard
    if heard is None or sight.now_s - heard.heard_at_s > HEARD_WITHIN_S:
        # A hub that has just begun to listen knows of nobody.
        listened = sight.now_s > sight.link.up_at_s + HEARD_WITHIN_S + RECONNECT_GRACE_S
        return GOOD if listened or not open_now else UNKNOWN
    if heard.messages < MESSAGES and not open_now:
        return GOOD
    return Fault(None, {"first_heard_at_ms": milliseconds(heard.first_heard_at_s), "messages": heard.messages})


def words(name: str, evidence: Evidence) -> Words:  # noqa: ARG001 (as every rule's)
    return Words(
        f"A board speaks as {name}, which is no node of this venue.",
        "A board that is not entered yet or was taken out, or one that was given a wrong name.",
        "Enter the node in the inventory; or find the board by its network address in the broker's log, put its name "
        "right, or switch it off and withdraw its credential.",
    )


RULE: Final = Rule(
    FindingKind.UNKNOWN_NODE,
    Severity.NOTICE,
    Hysteresis(opens_after_s=30.0, ends_after_s=60.0),
    words,
    about=About.STRANGER,
)
