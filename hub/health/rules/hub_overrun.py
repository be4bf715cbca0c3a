"""Hub overrun: more messages come than the hub can take in, and it drops all but the newest of each kind and node."""

from typing import Final

from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, About, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import VenueSight

# In the last five to ten minutes. The hub takes tens of thousands a second (tests/bench/ingest.py): one is too many.
DROPPED: Final = 1


def judge(sight: VenueSight, *, open_now: bool) -> Outcome:  # noqa: ARG001 (as every rule)
    if sight.dropped_lately < DROPPED:
        return GOOD
    return Fault(None, {"dropped_lately": sight.dropped_lately})


def words(venue: str, evidence: Evidence) -> Words:
    return Words(
        f"The hub of {venue} dropped {evidence['dropped_lately']} messages within minutes: more came than it takes in. "
        "What it shows is the newest; history has gaps.",
        "Boards that report far too often, another program that publishes under their names, or a hub whose machine is "
        "too slow or busy with other work.",
        "Look at the load of the hub's machine, at the telemetry interval that it was started with, and in the metrics "
        "at which messages are refused.",
    )


RULE: Final = Rule(
    FindingKind.HUB_OVERRUN,
    Severity.WARNING,
    Hysteresis(opens_after_s=0.0, ends_after_s=60.0),
    words,
    about=About.VENUE,
)
