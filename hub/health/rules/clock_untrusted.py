"""Clock untrusted: the node runs on a clock that nobody vouches for, though it is connected."""

from typing import Final

from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:  # noqa: ARG001 (as every rule of nodes)
    """No exchange with the hub's clock has succeeded, and no time synchronisation stands in."""
    told = sight.told
    if told is None or not sight.node.online:
        return UNKNOWN
    if told.clock_dispersion_ms is not None or told.clock_source in ("hub", "disciplined"):
        return GOOD
    return Fault(sight.node.node, {"source": told.clock_source, "uptime_s": round(told.uptime_s, 1)})


def words(node: str, evidence: Evidence) -> Words:
    rests_on = (
        "the last time known before its start, plus uptime"
        if evidence["source"] == "kept"
        else "its own clock, which nothing keeps right"
    )
    return Words(
        f"{node} does not get the hub's time and runs on {rests_on}: it takes scenes at the wrong moment.",
        "It is connected, but no clock exchange with the hub succeeds.",
        "Read the agent's log for impossible exchanges, compare the agent's version with the hub's, and see whether "
        "the link takes seconds.",
    )


RULE: Final = Rule(
    FindingKind.CLOCK_UNTRUSTED,
    Severity.WARNING,
    # The first exchange comes within a second of the birth.
    Hysteresis(opens_after_s=15.0, ends_after_s=1.0),
    words,
    causes=(CauseKind.SWITCH, CauseKind.VENUE),
    explains=(FindingKind.SKEWED,),
)
