"""What nodes load a supply with, its budget in whole milliamps, and each node's fixed share of it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from node_agent.power import feed_of_pixel
from schemas import Budget, Channel, PixelType, Supply, Venue

UA_PER_A = 1_000_000
UA_PER_MA = 1_000


@dataclass(frozen=True, slots=True)
class Load:
    """A node's pixels on one supply: every emitter full, and all of them dark, microamps."""

    full_ua: int
    idle_ua: int


def pixels_by_supply(channel: Channel) -> dict[str, int]:
    """Pixels of a channel's run by the supply that boards count them to; those that no feed reaches are left out."""
    run = channel.run
    nearest = feed_of_pixel(run.feeds, run.positive_cut_before, run.pixels)
    counts = np.bincount(nearest[nearest >= 0], minlength=len(run.feeds))
    pixels: dict[str, int] = {}
    for feed, count in zip(run.feeds, counts.tolist(), strict=True):
        pixels[feed.supply] = pixels.get(feed.supply, 0) + count
    return pixels


def loads_by_supply(venue: Venue, pixel_types: Mapping[str, PixelType]) -> dict[str, dict[str, Load]]:
    """The load of each node on each supply that a feed of it names: {supply: {node: load}}."""
    loads: dict[str, dict[str, Load]] = {}
    for node in venue.nodes:
        for channel in node.channels:
            kind = pixel_types[channel.run.pixel_type]
            full_ua, idle_ua = round(kind.full_pixel_ma * UA_PER_MA), round(kind.idle_ma * UA_PER_MA)
            for supply_id, pixels in pixels_by_supply(channel).items():
                nodes = loads.setdefault(supply_id, {})
                before = nodes.get(node.id, Load(0, 0))
                nodes[node.id] = Load(before.full_ua + pixels * full_ua, before.idle_ua + pixels * idle_ua)
    return loads


def budget_ma(supply: Supply) -> int:
    """Whole milliamps of a supply's budget, rounded down."""
    # Decimal of the written figures: 4.0 × 0.8 is 3.2 A, not a hair below it.
    return int(Decimal(str(supply.rated_a)) * Decimal(str(supply.derating)) * UA_PER_A) // UA_PER_MA


def fixed_shares_ma(whole_ma: int, loads: Mapping[str, Load]) -> dict[str, int]:
    """A budget in proportion to worst cases, by node.

    Rounded down to the milliamp in exact arithmetic, so that the shares never add up to more than there is.
    """
    total = sum(load.full_ua for load in loads.values())
    return {node: whole_ma * load.full_ua // total if total else 0 for node, load in loads.items()}


def whole_budgets(venue: Venue, loads: Mapping[str, Mapping[str, Load]]) -> dict[str, tuple[Budget, ...]]:
    """By node, the whole budget of each supply that it hangs on: what no grant may exceed."""
    return _by_node(venue, loads, lambda supply, nodes: dict.fromkeys(nodes, budget_ma(supply)))


def share_budgets(venue: Venue, pixel_types: Mapping[str, PixelType]) -> dict[str, tuple[Budget, ...]]:
    """By node, its fixed share of each supply that it hangs on."""
    loads = loads_by_supply(venue, pixel_types)
    return _by_node(venue, loads, lambda supply, nodes: fixed_shares_ma(budget_ma(supply), nodes))


def _by_node(
    venue: Venue,
    loads: Mapping[str, Mapping[str, Load]],
    amounts_ma: Callable[[Supply, Mapping[str, Load]], Mapping[str, int]],
) -> dict[str, tuple[Budget, ...]]:
    budgets: dict[str, list[Budget]] = {node.id: [] for node in venue.nodes}
    for supply in venue.supplies:
        for node_id, amount_ma in amounts_ma(supply, loads.get(supply.id, {})).items():
            budgets[node_id].append(Budget.model_construct(supply=supply.id, budget_a=amount_ma / 1_000))
    return {node_id: tuple(of_node) for node_id, of_node in budgets.items()}
