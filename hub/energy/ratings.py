"""What is known of a venue when its charge is counted: ratings, volts, who draws from which supply, its days. Pure."""

from dataclasses import dataclass
from datetime import UTC, tzinfo
from typing import Final, Self
from zoneinfo import ZoneInfo

from schemas import Venue


@dataclass(frozen=True, slots=True)
class SupplyRatings:
    """(rated amps, volts) of each supply; the (node, supply) pairs that the venue wires; the zone of its days."""

    supplies: dict[str, tuple[float, float]]
    wired: frozenset[tuple[str, str]]
    zone: tzinfo = UTC

    @classmethod
    def of(cls, venue: Venue) -> Self:
        supplies = {supply.id: (supply.rated_a, supply.volts) for supply in venue.supplies}
        return cls(supplies, wired_pairs(venue), ZoneInfo(venue.time_zone))

    def counts(self, node: str, supply: str, *, known: bool) -> bool:
        """Whether charge of a node from a supply is counted: one that the venue wires, or that was counted before.

        A board that has not taken a change of the venue yet still draws as the venue was wired before.
        """
        return supply in self.supplies and (known or (node, supply) in self.wired)


NO_RATINGS: Final = SupplyRatings({}, frozenset())


def wired_pairs(venue: Venue) -> frozenset[tuple[str, str]]:
    """Which nodes draw from which supplies, (node, supply)."""
    return frozenset(
        (node.id, feed.supply) for node in venue.nodes for channel in node.channels for feed in channel.run.feeds
    )
