"""The audit's figures: amps of each supply by three measures that are never mixed up, and a verdict in words. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from hub.desired import JoinedVenue
from hub.desired.join import split_supply
from node_agent.power import PowerModel
from schemas import Supply


class Verdict(StrEnum):
    """What the figures of a supply come to."""

    WITHIN = "within"
    ONLY_UNDER_BUDGET = "only-under-budget"
    OVERLOADED = "overloaded"


@dataclass(slots=True)
class Draw:
    """What pixels draw, amps: every emitter full; the trade's rule of thumb; all dark."""

    pixels: int = 0
    worst_case_a: float = 0.0
    typical_a: float = 0.0
    idle_a: float = 0.0

    def add(self, other: "Draw") -> None:
        self.pixels += other.pixels
        self.worst_case_a += other.worst_case_a
        self.typical_a += other.typical_a
        self.idle_a += other.idle_a


def draw_by_node_and_supply(joined: JoinedVenue) -> dict[tuple[str, str], Draw]:
    """(node, supply) -> what the node's pixels draw from it, by the estimate that the boards use."""
    power = PowerModel(joined.body)
    pixels = [0] * len(power.supplies)
    for place in power.supply_of_pixel.tolist():
        pixels[place] += 1
    columns = zip(
        power.supplies,
        pixels,
        power.worst_case_a().tolist(),
        power.typical_a().tolist(),
        power.idle_a().tolist(),
        strict=True,
    )
    return {split_supply(name): Draw(count, worst, typical, idle) for name, count, worst, typical, idle in columns}


def total_by(draws: Mapping[tuple[str, str], Draw], place: int) -> dict[str, Draw]:
    """Sums by node (place 0) or by supply (place 1)."""
    totals: dict[str, Draw] = {}
    for key, draw in draws.items():
        totals.setdefault(key[place], Draw()).add(draw)
    return totals


def verdict_of(supply: Supply, draw: Draw) -> tuple[Verdict, str]:
    """The verdict and its reason."""
    rated, budget = f"{supply.rated_a:.1f} A", f"{supply.budget_a:.1f} A"
    worst, typical = f"{draw.worst_case_a:.1f} A", f"{draw.typical_a:.1f} A"
    if draw.pixels == 0:
        return Verdict.WITHIN, "no pixel hangs on it"
    if exceeds(draw.idle_a, supply.budget_a):
        return Verdict.OVERLOADED, (
            f"its pixels draw {draw.idle_a:.1f} A dark, more than the budget of {budget}: no limiter can help; "
            "move pixels to another supply or fit a larger one"
        )
    if exceeds(draw.typical_a, supply.budget_a):
        return Verdict.OVERLOADED, (
            f"typical {typical} exceeds the budget of {budget}: the limiter would dim ordinary scenes all the time; "
            "move pixels to another supply or fit a larger one"
        )
    if not exceeds(draw.worst_case_a, supply.budget_a):
        return Verdict.WITHIN, f"worst case {worst} is within the budget of {budget}"
    over = f"the supply's {rated}" if exceeds(draw.worst_case_a, supply.rated_a) else f"the budget of {budget}"
    within = "it" if over.startswith("the budget") else f"the budget of {budget}"
    return Verdict.ONLY_UNDER_BUDGET, (
        f"worst case {worst} exceeds {over}; typical {typical} is within {within}: safe only under the enforced budget"
    )


def exceeds(amps: float, limit_a: float) -> bool:
    """Sums of many small currents may be a hair off."""
    return amps > limit_a + 1e-6
