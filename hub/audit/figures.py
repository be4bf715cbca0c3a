"""The audit's figures: amps of each supply by three measures that are never mixed up, and a verdict in words. Pure."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from pydantic import BaseModel, Field

from hub.electrical.levels import PixelAmps
from schemas import Supply


class Verdict(StrEnum):
    """What the figures of a supply come to."""

    WITHIN = "within"
    ONLY_UNDER_BUDGET = "only-under-budget"
    OVERLOADED = "overloaded"


class Headroom(BaseModel):
    """What is left of the budget; negative where it is exceeded."""

    amps: float
    pixels: int | None = Field(description="Whole pixels of the hungriest kind on it; null where none hangs on it.")


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


def draw_by_node_and_supply(pixels: PixelAmps) -> dict[tuple[str, str], Draw]:
    """(node, supply) -> what the node's pixels draw from it, by the estimate that the boards use.

    Pixels that no feed reaches count nowhere. Keys are in the order of nodes, then of supplies.
    """
    nodes = list(dict.fromkeys(node for node, _ in pixels.places))
    of_run = np.array([nodes.index(node) for node, _ in pixels.places], dtype=np.intp)
    of_pixel = np.repeat(of_run, np.diff(pixels.starts))
    counted = pixels.supply >= 0
    key = of_pixel[counted] * len(pixels.supplies) + pixels.supply[counted]
    found, place = np.unique(key, return_inverse=True)
    columns = [
        np.bincount(place, weights=amps[counted], minlength=len(found)).tolist()
        for amps in (pixels.full_a, pixels.typical_a, pixels.idle_a)
    ]
    counts = np.bincount(place, minlength=len(found)).tolist()
    return {
        (nodes[one // len(pixels.supplies)], pixels.supplies[one % len(pixels.supplies)]): Draw(*figures)
        for one, *figures in zip(found.tolist(), counts, *columns, strict=True)
    }


def headroom_of(supply: Supply, amps: float, hungriest_a: float) -> Headroom:
    """What `amps` leave of the supply's budget, in amps and in whole pixels of `hungriest_a`."""
    left_a = supply.budget_a - amps
    pixels = math.floor(left_a / hungriest_a + 1e-9) if hungriest_a > 0 else None
    return Headroom(amps=round(left_a, 3) + 0.0, pixels=pixels)  # no minus sign before zero


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
