"""What every pixel of a venue draws at the audit's three levels, as arrays over all pixels. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from hub.desired.compile import pixel_types_of
from node_agent.power import feed_of_pixel
from schemas import Channel, Node, Venue

Amps = NDArray[np.float64]


class Level(StrEnum):
    """How bright the runs are while they are looked at."""

    TYPICAL = "typical"
    UNDER_BUDGET = "under-budget"
    WORST_CASE = "worst-case"


@dataclass(frozen=True, slots=True, eq=False)
class PixelAmps:
    """Arrays of the shape (pixels,), runs one after another in the venue's order.

    `supply` is the index, among the venue's supplies, of the one that boards count a pixel to; -1 where there is none.
    """

    supplies: tuple[str, ...]
    places: tuple[tuple[str, int], ...]
    """(node, channel) of each run."""
    starts: NDArray[np.intp]
    """Index of each run's first pixel; shape (runs + 1,), the last is the number of pixels."""
    supply: NDArray[np.intp]
    idle_a: Amps
    typical_a: Amps
    full_a: Amps
    budget_a: Amps
    """Budget of each supply, shape (supplies,)."""

    def at(self, level: Level) -> Amps:
        """Amps of every pixel, all lit alike: by the rule of thumb, full, or as bright as the budgets let them be."""
        match level:
            case Level.TYPICAL:
                return self.typical_a
            case Level.WORST_CASE:
                return self.full_a
            case Level.UNDER_BUDGET:
                share = np.append(self.highest_share(), 1.0)[self.supply]
                amps: Amps = self.idle_a + share * (self.full_a - self.idle_a)
                return amps

    def highest_share(self) -> Amps:
        """Per supply, how much of full white its budget allows when all its pixels are lit alike; 0..1."""
        idle_a, full_a = self.by_supply(self.idle_a), self.by_supply(self.full_a)
        room_a = full_a - idle_a
        share = np.divide(self.budget_a - idle_a, room_a, out=np.ones_like(room_a), where=room_a > 0)
        clipped: Amps = np.clip(share, 0.0, 1.0)
        return clipped

    def by_supply(self, amps: Amps) -> Amps:
        """Sums over the pixels of each supply, shape (supplies,)."""
        counted = self.supply >= 0
        return np.bincount(self.supply[counted], weights=amps[counted], minlength=len(self.budget_a)).astype(np.float64)

    def hungriest_a(self) -> Amps:
        """Full draw of the hungriest pixel of each supply; 0 where none hangs on it."""
        highest: Amps = np.zeros(len(self.budget_a))
        counted = self.supply >= 0
        np.maximum.at(highest, self.supply[counted], self.full_a[counted])
        return highest

    def by_run(self, amps: Amps) -> list[Amps]:
        """`amps` parted into runs, in the order of `places`."""
        return [amps[start:end] for start, end in zip(self.starts[:-1], self.starts[1:], strict=True)]


def pixel_amps(venue: Venue) -> PixelAmps:
    """The figures of every pixel of `venue`. A feed's supply must be one of the venue's."""
    kinds = pixel_types_of(venue)
    runs = channels_of(venue)
    index = {supply.id: place for place, supply in enumerate(venue.supplies)}
    pixels = np.array([channel.run.pixels for _, channel in runs], dtype=np.intp)
    types = [kinds[channel.run.pixel_type] for _, channel in runs]

    def spread(milliamps: Sequence[float]) -> Amps:
        amps: Amps = np.repeat(np.array(milliamps, dtype=np.float64) * 1e-3, pixels)
        return amps

    return PixelAmps(
        supplies=tuple(index),
        places=tuple((node.id, channel.number) for node, channel in runs),
        starts=np.concatenate([[0], np.cumsum(pixels)]).astype(np.intp),
        supply=np.concatenate([np.empty(0, dtype=np.intp), *(_supply_of_pixel(channel, index) for _, channel in runs)]),
        idle_a=spread([kind.idle_ma for kind in types]),
        typical_a=spread([kind.typical_ma for kind in types]),
        full_a=spread([kind.full_pixel_ma for kind in types]),
        budget_a=np.array([supply.budget_a for supply in venue.supplies], dtype=np.float64),
    )


def channels_of(venue: Venue) -> list[tuple[Node, Channel]]:
    """Every channel with its node, in the venue's order."""
    return [(node, channel) for node in venue.nodes for channel in node.channels]


def _supply_of_pixel(channel: Channel, index: dict[str, int]) -> NDArray[np.intp]:
    run = channel.run
    supplies = np.array([*(index[feed.supply] for feed in run.feeds), -1], dtype=np.intp)
    return supplies[feed_of_pixel(run.feeds, run.positive_cut_before, run.pixels)]
