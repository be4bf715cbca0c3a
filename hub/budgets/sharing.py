"""How a supply's budget is divided by need: a pure function from what nodes want and hold to what each should have.

Everything is in whole milliamps. The division never adds up to more than the budget, except where what must be kept for
nodes that cannot be asked is more by itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from hub.desired.budgets import Load, fixed_shares_ma

FLOOR_DIVISOR: Final = 4
"""Every node keeps idle plus a quarter of its fixed share, so that a dark one can light at once."""

MARGIN_DIVISOR: Final = 8
MARGIN_MA: Final = 50
"""A node is given an eighth more than it wants, and this, so that a brighter moment need not be asked for first."""

LEAST_MOVE_MA: Final = 50
LEAST_MOVE_DIVISOR: Final = 20
"""Nothing moves for less than a twentieth of a fixed share: shares would otherwise follow every flicker."""


@dataclass(frozen=True, slots=True)
class Claim:
    """One node on the supply. `wanted_ma`: the most that its scene asked for lately, None while unknown.

    `kept_ma` is for a node that cannot be asked: it keeps that, whatever others want.
    """

    load: Load
    present_ma: int = 0
    wanted_ma: int | None = None
    kept_ma: int | None = None


def share_by_need(whole_ma: int, claims: Mapping[str, Claim]) -> dict[str, int]:
    """What each node should have; what it has, where nobody goes short by it.

    Every node gets its floor, then what it wants with a margin; what is left goes by worst case. Where that is not
    enough for all, those who want least are served first and the rest share by worst case.
    """
    fixed = fixed_shares_ma(whole_ma, {node: claim.load for node, claim in claims.items()})
    kept = {node: claim.kept_ma for node, claim in claims.items() if claim.kept_ma is not None}
    asked = {node: claim for node, claim in claims.items() if node not in kept}
    pool = max(0, whole_ma - sum(kept.values()))
    floors = {node: _idle_ma(claim.load) + fixed[node] // FLOOR_DIVISOR for node, claim in asked.items()}
    needs = {node: max(floors[node], _need_ma(claim, fixed[node])) for node, claim in asked.items()}
    best = _divided(pool, floors, needs, {node: claim.load.full_ua for node, claim in asked.items()})
    present = {node: claim.present_ma for node, claim in asked.items()}
    if sum(present.values()) <= pool and not any(
        present[node] < needs[node]
        and best[node] - present[node] >= max(LEAST_MOVE_MA, fixed[node] // LEAST_MOVE_DIVISOR)
        for node in asked
    ):
        best = present
    return best | kept


def _need_ma(claim: Claim, fixed_ma: int) -> int:
    if claim.wanted_ma is None:
        return fixed_ma
    with_margin = claim.wanted_ma + claim.wanted_ma // MARGIN_DIVISOR + MARGIN_MA
    return min(with_margin, -(-claim.load.full_ua // 1_000) + MARGIN_MA)


def _divided(
    pool: int, floors: Mapping[str, int], needs: Mapping[str, int], weights: Mapping[str, int]
) -> dict[str, int]:
    """Floors, then needs, then the rest by weight; rounded down."""
    total_floor = sum(floors.values())
    if total_floor > pool:
        return {node: pool * floor // total_floor for node, floor in floors.items()}
    shares = dict(floors)
    hungry = {node for node in shares if needs[node] > shares[node]}
    left = pool - total_floor
    while hungry and left > 0:
        total = sum(max(weights[node], 1) for node in hungry)
        parts = {node: left * max(weights[node], 1) // total for node in hungry}
        fed = {node for node in hungry if shares[node] + parts[node] >= needs[node]}
        for node in fed or hungry:
            given = min(parts[node], needs[node] - shares[node])
            shares[node] += given
            left -= given
        hungry = hungry - fed if fed else set()
    total = sum(weights.values())
    return {node: share + (left * weights[node] // total if total else 0) for node, share in shares.items()}


def _idle_ma(load: Load) -> int:
    return -(-load.idle_ua // 1_000)
