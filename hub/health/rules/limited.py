"""Limited: a budget limiter has dimmed for long, so that the scene looks other than it was made."""

from typing import Final

from hub.cautions import FUSE, MAINS, PARALLEL, POLARITY, POWER_OFF
from hub.health.kinds import FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, About, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.figures import percent
from hub.health.sight import SupplySight

# A twentieth of the light is about what an eye tells apart (common practice, no source).
LIMITER_AT_WORK_SCALE: Final = 0.95
LIMITER_AT_REST_SCALE: Final = 0.98


def judge(sight: SupplySight, *, open_now: bool) -> Outcome:
    """By the node that dims most."""
    if not sight.drawing:
        return GOOD if sight.fresh else UNKNOWN
    dimmest = min(sight.drawing, key=lambda one: one.limiter_scale)
    if dimmest.limiter_scale >= (LIMITER_AT_REST_SCALE if open_now else LIMITER_AT_WORK_SCALE):
        return GOOD if sight.fresh else UNKNOWN
    budget_a = sight.budget_a
    share_a = budget_a if dimmest.granted_a is None else min(dimmest.granted_a, budget_a)
    return Fault(
        dimmest.node,
        {
            "node": dimmest.node,
            "limiter_scale": round(dimmest.limiter_scale, 3),
            "amps": round(dimmest.amps, 3),
            "share_a": round(share_a, 3),
            "budget_a": round(budget_a, 3),
        },
    )


def words(supply: str, evidence: Evidence) -> Words:
    dims = f"{evidence['node']} has dimmed to {percent(evidence['limiter_scale'])} for minutes"
    if evidence["share_a"] != evidence["budget_a"]:
        return Words(
            f"{dims}, to keep to its share of {evidence['share_a']} A of supply {supply}, whose budget is "
            f"{evidence['budget_a']} A.",
            "The scene asks for more than the node's share of the supply.",
            "Share the supply by need and see in the budgets who holds the rest; or lower the scene's opacity or "
            "white; or fit a larger supply, with wire and fuse to match.",
        )
    return Words(
        f"{dims}, to keep supply {supply} within its budget of {evidence['budget_a']} A.",
        "The scene asks for more than the supply may give.",
        "Lower the scene's opacity or white; or fit a larger supply, with wire and fuse to match.",
    )


RULE: Final = Rule(
    FindingKind.LIMITED,
    Severity.NOTICE,
    # A budget is there to be used up at a scene's brightest moments.
    Hysteresis(opens_after_s=300.0, ends_after_s=60.0),
    words,
    about=About.SUPPLY,
    cautions=(POWER_OFF, POLARITY, PARALLEL, FUSE, MAINS),
)
