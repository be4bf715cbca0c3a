"""What a finding says to a person, and what to check next, in the trade's words."""

from collections.abc import Mapping
from dataclasses import dataclass

from hub.health.kinds import FindingKind


@dataclass(frozen=True, slots=True)
class Words:
    """One sentence of what is wrong, one of what to do."""

    message: str
    next_check: str


def words_for(kind: FindingKind, node: str, supply: str | None, evidence: Mapping[str, object]) -> Words:
    """The words of a finding when it opens."""
    if kind is FindingKind.SILENT:
        return _silent(node, evidence)
    if kind is FindingKind.OVERLOADED:
        return _overloaded(node, supply, evidence)
    if kind is FindingKind.SLOW:
        return Words(
            f"{node} shows {evidence['frame_rate_hz']} frames/s of {evidence['frame_rate_target_hz']}, "
            f"{_percent(evidence['late_share'])} of them late: movement stutters.",
            "Look for other work on the board and for a hot, throttled processor; fewer layers, or fewer pixels on its "
            "longest run, make frames cheaper.",
        )
    if kind is FindingKind.SKEWED:
        return Words(
            f"{node} knows show time to {evidence['dispersion_ms']} ms only, more than its frame of "
            f"{evidence['frame_period_ms']} ms: its part may run ahead of or behind the rest.",
            "Its link to the hub is slow or jitters: look for a poor radio path, a saturated network or a busy broker; "
            "a cable, or a lower frame rate of this node, helps.",
        )
    if kind is FindingKind.CLOCK_UNTRUSTED:
        return _clock_untrusted(node, evidence)
    if kind is FindingKind.CLOCKS_APART:
        return _clocks_apart(node, evidence)
    refused = evidence.get("refused")
    if refused:
        return Words(
            f"{node} refuses revision {evidence['revision_desired']}: {refused}",
            "Mend what the refusal names and take the scene again; until then the node keeps what it shows.",
        )
    shows = evidence["revision_showing"]
    return Words(
        f"{node} shows {f'revision {shows}' if shows is not None else 'no revision'}, "
        f"not revision {evidence['revision_desired']}, though it is connected.",
        "The hub sends it again by itself; if this stays, read the agent's log on the board and its disk's free space.",
    )


def _silent(node: str, evidence: Mapping[str, object]) -> Words:
    if evidence["told_by"] == "never heard":
        return Words(
            f"{node} has not been heard since the hub started.",
            "Is the board powered, is its agent started, and does its credential belong to this node and broker?",
        )
    if evidence["told_by"] == "last will":
        return Words(
            f"{node} lost its connection: its agent ended, or the board lost power or network.",
            "Look whether its pixels still move: if so, check its network; if not, the board's supply and its fuse, "
            "then the agent's log. Power off before touching the wiring.",
        )
    return Words(
        f"{node} has said nothing for three telemetry intervals, though nobody has told of its end.",
        "Check the network between board and hub, then whether the board hangs: read the agent's log.",
    )


def _clock_untrusted(node: str, evidence: Mapping[str, object]) -> Words:
    rests_on = (
        "the last time known before its start, plus uptime"
        if evidence["source"] == "kept"
        else "its own clock, which nothing keeps right"
    )
    return Words(
        f"{node} does not get the hub's time and runs on {rests_on}: it takes scenes at the wrong moment.",
        "It is connected but no clock exchange succeeds: read the agent's log for impossible exchanges, compare the "
        "agent's version with the hub's, and see whether the link takes seconds.",
    )


def _clocks_apart(node: str, evidence: Mapping[str, object]) -> Words:
    ahead_s = float(str(evidence["hub_ahead_s"]))
    return Words(
        f"The hub's clock is {abs(ahead_s):.1f} s {'ahead of' if ahead_s > 0 else 'behind'} the clock of {node}, "
        "which time synchronisation keeps. The venue goes by the hub's.",
        "See that time synchronisation runs on the hub's machine and reaches its servers; if it does, look at the "
        "board's. Opening hours are off by as much until then.",
    )


def _overloaded(node: str, supply: str | None, evidence: Mapping[str, object]) -> Words:
    if evidence["reason"] == "over budget":
        return Words(
            f"Supply {supply} carries {evidence['amps']} A, more than its budget of {evidence['budget_a']} A; "
            f"{node} draws the most.",
            "Take a darker scene now; then hold the audit of this supply against its nameplate, wire and fuse. Mains "
            "side: a licensed electrician, under the local code.",
        )
    if evidence["reason"] == "over its share":
        return Words(
            f"{node} draws {evidence['amps']} A from supply {supply}, more than its share of {evidence['share_a']} A.",
            "Take a darker scene now, and restart the node's agent; if it stays, compare the agent's version with the "
            "hub's: its limiter should not let this happen.",
        )
    if evidence["share_a"] != evidence["budget_a"]:
        return Words(
            f"{node} dims to {_percent(evidence['limiter_scale'])} to keep to its share of {evidence['share_a']} A of "
            f"supply {supply}, whose budget is {evidence['budget_a']} A.",
            "The scene asks for more than the share: share the supply by need, see in the budgets who holds the rest, "
            "lower the scene's opacity or white, or fit a larger supply with wire and fuse to match.",
        )
    return Words(
        f"{node} dims to {_percent(evidence['limiter_scale'])} to keep supply {supply} within its budget of "
        f"{evidence['budget_a']} A.",
        "The scene asks for more than the supply may give: lower its opacity or white, or fit a larger supply with "
        "wire and fuse to match.",
    )


def _percent(share: object) -> str:
    return f"{float(str(share)) * 100:.0f} %"
