"""A supply's budget shared over the nodes that hang on it, in whole milliamps, never above the supply's own."""

from collections.abc import Mapping
from decimal import Decimal

import numpy as np

from node_agent.power import feed_of_pixel
from schemas import Budget, Channel, PixelType, Supply, Venue

UA_PER_A = 1_000_000


def pixels_by_supply(channel: Channel) -> dict[str, int]:
    """Pixels of a channel's run by the supply that boards count them to; those that no feed reaches are left out."""
    run = channel.run
    nearest = feed_of_pixel(run.feeds, run.positive_cut_before, run.pixels)
    counts = np.bincount(nearest[nearest >= 0], minlength=len(run.feeds))
    pixels: dict[str, int] = {}
    for feed, count in zip(run.feeds, counts.tolist(), strict=True):
        pixels[feed.supply] = pixels.get(feed.supply, 0) + count
    return pixels


def share_budgets(venue: Venue, pixel_types: Mapping[str, PixelType]) -> dict[str, tuple[Budget, ...]]:
    """Budgets of every node: each supply's `budget_a` in proportion to the worst case of the node's pixels on it.

    Rounded down to the milliamp in exact arithmetic, so that the shares of a supply never add up to more than it has.
    """
    weights: dict[str, dict[str, int]] = {}
    for node in venue.nodes:
        for channel in node.channels:
            full_ua = round(pixel_types[channel.run.pixel_type].full_pixel_ma * 1_000)
            for supply_id, pixels in pixels_by_supply(channel).items():
                nodes = weights.setdefault(supply_id, {})
                nodes[node.id] = nodes.get(node.id, 0) + pixels * full_ua
    budgets: dict[str, list[Budget]] = {node.id: [] for node in venue.nodes}
    for supply in venue.supplies:
        shares = weights.get(supply.id, {})
        total = sum(shares.values())
        for node_id, weight in shares.items():
            share_ma = _budget_ua(supply) * weight // (total * 1_000) if total else 0
            budgets[node_id].append(Budget.model_construct(supply=supply.id, budget_a=share_ma / 1_000))
    return {node_id: tuple(shares) for node_id, shares in budgets.items()}


def _budget_ua(supply: Supply) -> int:
    # Decimal of the written figures: 4.0 × 0.8 is 3.2 A, not a hair below it.
    return int(Decimal(str(supply.rated_a)) * Decimal(str(supply.derating)) * UA_PER_A)
