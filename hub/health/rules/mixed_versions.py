"""Mixed versions: the agents of a venue have been of different versions for long."""

from collections import Counter
from typing import Final

from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, About, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import VenueSight

NAMES: Final = 4


def judge(sight: VenueSight, *, open_now: bool) -> Outcome:  # noqa: ARG001 (as every rule)
    """Of the nodes that are on: one that is off says nothing of what it will run."""
    versions = {node.node: node.agent_version for node in sight.nodes if node.online and node.agent_version}
    counts = Counter(versions.values())
    if len(counts) <= 1:
        return GOOD
    common, of_common = max(counts.items(), key=lambda one: (one[1], one[0]))
    others = sorted(name for name, version in versions.items() if version != common)
    return Fault(
        others[0] if len(others) == 1 else None,
        {
            "common_version": common,
            "nodes_of_common": of_common,
            "versions": ", ".join(sorted(counts)[:NAMES]),
            "other_nodes": len(others),
            "others": ", ".join(others[:NAMES]) + (" and more" if len(others) > NAMES else ""),
        },
    )


def words(venue: str, evidence: Evidence) -> Words:
    count = int(str(evidence["other_nodes"]))
    runs = "1 node runs" if count == 1 else f"{count} nodes run"
    return Words(
        f"In {venue} {runs} another agent version than {evidence['common_version']}: {evidence['others']}.",
        "An update that stopped half way, or a spare board with an older agent.",
        "Bring these boards to the version of the others, one by one, and see that each comes back.",
    )


RULE: Final = Rule(
    FindingKind.MIXED_VERSIONS,
    Severity.NOTICE,
    # An update of a whole venue, board by board, takes its time.
    Hysteresis(opens_after_s=3_600.0, ends_after_s=60.0),
    words,
    about=About.VENUE,
)
