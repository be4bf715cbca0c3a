"""Overloaded: a supply gives more than its budget, a node draws more than its share, or a limiter dims for it."""

from typing import Final

from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, About, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.cautions import HEAT, MAINS, POWER_OFF
from hub.health.rules.figures import percent
from hub.health.sight import Drawing, SupplySight

OVER_BUDGET_SHARE: Final = 1.02
WITHIN_BUDGET_SHARE: Final = 1.00
LIMITER_AT_WORK_SCALE: Final = 0.95
LIMITER_AT_REST_SCALE: Final = 0.98


def judge(sight: SupplySight, *, open_now: bool) -> Outcome:
    nodes, budget_a = sight.drawing, sight.budget_a
    if not nodes:
        return GOOD if sight.fresh else UNKNOWN
    amps = sum(one.amps for one in nodes)
    over = amps > budget_a * (WITHIN_BUDGET_SHARE if open_now else OVER_BUDGET_SHARE)
    greedy = [one for one in nodes if over_its_share(one)]
    dimmest = min(nodes, key=lambda one: one.limiter_scale)
    scale = dimmest.limiter_scale
    if over:
        worst, reason = max(nodes, key=lambda one: one.amps), "over budget"
    elif greedy:
        worst, reason = max(greedy, key=lambda one: one.amps), "over its share"
    elif scale < (LIMITER_AT_REST_SCALE if open_now else LIMITER_AT_WORK_SCALE):
        worst, reason = dimmest, "budget limiter at work"
    else:
        return GOOD if sight.fresh else UNKNOWN
    share_a = budget_a if over or worst.granted_a is None else min(worst.granted_a, budget_a)
    return Fault(
        worst.node,
        {
            "reason": reason,
            "node": worst.node,
            "amps": round(amps if over else worst.amps, 3),
            "budget_a": round(budget_a, 3),
            "share_a": round(share_a, 3),
            "limiter_scale": round(scale, 3),
        },
    )


def over_its_share(one: Drawing) -> bool:
    # A node whose dark pixels alone draw more is black, at scale 0: no limiter can do better.
    over = one.granted_a is not None and one.amps > one.granted_a * OVER_BUDGET_SHARE
    return over and one.limiter_scale > 0


def words(supply: str, evidence: Evidence) -> Words:
    node = evidence["node"]
    if evidence["reason"] == "over budget":
        return Words(
            f"Supply {supply} carries {evidence['amps']} A, more than its budget of {evidence['budget_a']} A; "
            f"{node} draws the most.",
            "The scene asks for more than was planned, or pixels draw more than their type says.",
            "Take a darker scene now; then hold the audit of this supply against its nameplate, wire and fuse.",
        )
    if evidence["reason"] == "over its share":
        return Words(
            f"{node} draws {evidence['amps']} A from supply {supply}, more than its share of {evidence['share_a']} A.",
            "The agent's limiter should not let this happen: its version is not the hub's, or it has a fault.",
            "Take a darker scene now, and restart the node's agent; if it stays, compare the agent's version with the "
            "hub's.",
        )
    if evidence["share_a"] != evidence["budget_a"]:
        return Words(
            f"{node} dims to {percent(evidence['limiter_scale'])} to keep to its share of {evidence['share_a']} A of "
            f"supply {supply}, whose budget is {evidence['budget_a']} A.",
            "The scene asks for more than the node's share of the supply.",
            "Share the supply by need, see in the budgets who holds the rest, lower the scene's opacity or white, or "
            "fit a larger supply with wire and fuse to match.",
        )
    return Words(
        f"{node} dims to {percent(evidence['limiter_scale'])} to keep supply {supply} within its budget of "
        f"{evidence['budget_a']} A.",
        "The scene asks for more than the supply may give.",
        "Lower the scene's opacity or white, or fit a larger supply with wire and fuse to match.",
    )


RULE: Final = Rule(
    FindingKind.OVERLOADED,
    Severity.ALARM,
    Hysteresis(opens_after_s=30.0, ends_after_s=30.0),
    words,
    about=About.SUPPLY,
    cautions=(HEAT, POWER_OFF, MAINS),
)
