"""Behind: the node shows another revision than desired."""

from typing import Final

from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import NodeSight


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:  # noqa: ARG001 (as every rule of nodes)
    node = sight.node
    desired = sight.desired_revision(node.venue, node.node)
    if desired is None:
        return GOOD
    if not node.online or node.reported is None:
        return UNKNOWN
    showing = node.reported.showing
    if showing is not None and showing.revision == desired:
        return GOOD
    refusal = node.reported.refusal
    return Fault(
        node.node,
        {
            "revision_desired": desired,
            "revision_showing": showing.revision if showing is not None else None,
            "refused": refusal.reason if refusal is not None and refusal.revision == desired else None,
        },
    )


def words(node: str, evidence: Evidence) -> Words:
    if evidence["refused"]:
        return Words(
            f"{node} refuses revision {evidence['revision_desired']}: {str(evidence['refused']).rstrip('.')}.",
            "The scene, or the node as the inventory has it, asks for what this board cannot do.",
            "Mend what the refusal names and take the scene again; until then the node keeps what it shows.",
        )
    shows = evidence["revision_showing"]
    return Words(
        f"{node} shows {f'revision {shows}' if shows is not None else 'no revision'}, "
        f"not revision {evidence['revision_desired']}, though it is connected.",
        "What the hub sent did not reach the node, or its disk does not keep it.",
        "The hub sends it again by itself; if this stays, read the agent's log on the board and its disk's free space.",
    )


RULE: Final = Rule(FindingKind.BEHIND, Severity.WARNING, Hysteresis(opens_after_s=15.0, ends_after_s=1.0), words)
