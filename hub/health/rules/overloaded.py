"""Overloaded: a supply gives more than its budget, or a node draws more than its share of it."""

from typing import Final

from hub.cautions import FUSE, HEAT, MAINS, POWER_OFF
from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, About, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.sight import Drawing, SupplySight

# Figures come rounded, from moments a little apart.
OVER_BUDGET_SHARE: Final = 1.02
WITHIN_BUDGET_SHARE: Final = 1.00


def judge(sight: SupplySight, *, open_now: bool) -> Outcome:
    nodes, budget_a = sight.drawing, sight.budget_a
    amps = sum(one.amps for one in nodes)
    if nodes and amps > budget_a * (WITHIN_BUDGET_SHARE if open_now else OVER_BUDGET_SHARE):
        return _fault("over budget", max(nodes, key=lambda one: one.amps), amps, budget_a, budget_a)
    greedy = [one for one in nodes if over_its_share(one)]
    if greedy:
        worst = max(greedy, key=lambda one: one.amps)
        return _fault("over its share", worst, worst.amps, min(worst.granted_a or 0.0, budget_a), budget_a)
    return GOOD if sight.fresh else UNKNOWN


def over_its_share(one: Drawing) -> bool:
    # A node whose dark pixels alone draw more is black, at scale 0: no limiter can do better.
    over = one.granted_a is not None and one.amps > one.granted_a * OVER_BUDGET_SHARE
    return over and one.limiter_scale > 0


def _fault(reason: str, worst: Drawing, amps: float, share_a: float, budget_a: float) -> Fault:
    return Fault(
        worst.node,
        {
            "reason": reason,
            "node": worst.node,
            "amps": round(amps, 3),
            "share_a": round(share_a, 3),
            "budget_a": round(budget_a, 3),
            "limiter_scale": round(worst.limiter_scale, 3),
        },
    )


def words(supply: str, evidence: Evidence) -> Words:
    node = evidence["node"]
    if evidence["reason"] == "over budget":
        return Words(
            f"Supply {supply} carries {evidence['amps']} A, more than its budget of {evidence['budget_a']} A; "
            f"{node} draws the most.",
            "A board that keeps to no budget: an old revision, or an agent of another version than the hub's.",
            "Take a darker scene now; then hold the audit of this supply against its nameplate, wire and fuse.",
        )
    return Words(
        f"{node} draws {evidence['amps']} A from supply {supply}, more than its share of {evidence['share_a']} A.",
        "The agent's limiter should not let this happen: its version is not the hub's, or it has a fault.",
        "Take a darker scene now, and restart the node's agent; if it stays, compare the agent's version with the "
        "hub's.",
    )


RULE: Final = Rule(
    FindingKind.OVERLOADED,
    Severity.ALARM,
    Hysteresis(opens_after_s=30.0, ends_after_s=30.0),
    words,
    about=About.SUPPLY,
    cautions=(HEAT, POWER_OFF, FUSE, MAINS),
)
