"""What is known of a venue's supplies when their charge is counted: ratings, volts, and who draws from them. Pure."""

from dataclasses import dataclass
from typing import Final, Self

from schemas import Venue


@dataclass(frozen=True, slots=True)
class SupplyRatings:
    """(rated amps, volts) of each supply; the (node, supply) pairs that the venue wires."""

    supplies: dict[str, tuple[float, float]]
    wired: frozenset[tuple[str, str]]

    @classmethod
    def of(cls, venue: Venue) -> Self:
        return cls({supply.id: (supply.rated_a, supply.volts) for supply in venue.supplies}, wired_pairs(venue))

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
