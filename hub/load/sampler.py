"""What a venue's supplies carry at this moment, sampled: the sum of what their nodes told last. Owned by the loop.

A node's word holds for three telemetry intervals and ends when the node goes off. Nobody knows then what its pixels
draw: they hold their last colours while they have power, and nothing when it is off. Time counts for a supply only
while all nodes that the venue wires to it are heard; what the others draw can still be the highest.
"""

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.energy.ratings import wired_pairs
from hub.fleet.state import NodeState
from hub.load.histogram import BINS, Seconds, bin_of
from schemas import Telemetry, Venue

MISSED_INTERVALS: Final = 3
NEVER: Final = -np.inf


@dataclass(frozen=True, slots=True, eq=False)
class LoadBatch:
    """Samples of a venue's supplies on one day that are not in the database yet: seconds by bin, highest amps."""

    venue: str
    day: str
    supplies: tuple[str, ...]
    rated_a: NDArray[np.float64]
    seconds: Seconds = field(init=False)
    highest_a: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "seconds", np.zeros((len(self.supplies), BINS + 1)))
        object.__setattr__(self, "highest_a", np.zeros(len(self.supplies)))

    def absorb(self, other: "LoadBatch") -> bool:
        """Take in another's samples; False where it is of another day or of other supplies."""
        same = (self.venue, self.day, self.supplies) == (other.venue, other.day, other.supplies)
        if not same or not np.array_equal(self.rated_a, other.rated_a):
            return False
        np.add(self.seconds, other.seconds, out=self.seconds)
        np.maximum(self.highest_a, other.highest_a, out=self.highest_a)
        return True


class VenueSampler:
    """The words of a venue's nodes as arrays, one place for each node on a supply."""

    def __init__(self, venue: Venue, telemetry_interval_s: float) -> None:
        self.venue = venue.id
        self.supplies = tuple(supply.id for supply in venue.supplies)
        self.rated_a = np.array([supply.rated_a for supply in venue.supplies], dtype=np.float64)
        self._holds_s = MISSED_INTERVALS * telemetry_interval_s
        number = {supply: place for place, supply in enumerate(self.supplies)}
        pairs = sorted(pair for pair in wired_pairs(venue) if pair[1] in number)
        self._places: dict[str, dict[str, int]] = {}
        for place, (node, supply) in enumerate(pairs):
            self._places.setdefault(node, {})[supply] = place
        self._supply = np.array([number[supply] for _, supply in pairs], dtype=np.intp)
        self._nodes = np.bincount(self._supply, minlength=len(self.supplies))
        self._amps, self._highest_a = np.zeros(len(pairs)), np.zeros(len(pairs))
        self._told_at_s = np.full(len(pairs), NEVER)
        self._heard: dict[str, Telemetry | None] = {}

    def hear(self, node: NodeState) -> None:
        """Take in a node as it is now; without effect where nothing changed since."""
        places = self._places.get(node.node)
        telemetry = node.telemetry if node.online else None
        if places is None or telemetry is self._heard.get(node.node):
            return
        self._heard[node.node] = telemetry
        if telemetry is None or node.telemetry_at_s is None:
            self._told_at_s[list(places.values())] = NEVER
            return
        for one in telemetry.supplies:
            place = places.get(one.supply)
            if place is not None:
                self._amps[place], self._highest_a[place] = one.amps, max(one.amps, one.highest_a)
                self._told_at_s[place] = node.telemetry_at_s

    def time_leapt(self, now_s: float) -> None:
        """A word from what is now the future holds from now."""
        np.minimum(self._told_at_s, now_s, out=self._told_at_s)

    def new_batch(self, day: str) -> LoadBatch:
        return LoadBatch(self.venue, day, self.supplies, self.rated_a)

    def sample(self, now_s: float, lasted_s: float, batch: LoadBatch) -> None:
        """Add the present totals, which stand for `lasted_s`, to the batch."""
        heard = now_s - self._told_at_s <= self._holds_s
        if not heard.any():
            return
        supply = self._supply[heard]
        total_a = np.bincount(supply, self._amps[heard], len(self.supplies))
        np.maximum(
            batch.highest_a, np.bincount(supply, self._highest_a[heard], len(self.supplies)), out=batch.highest_a
        )
        whole = (np.bincount(supply, minlength=len(self.supplies)) == self._nodes) & (self._nodes > 0)
        batch.seconds[whole, bin_of(total_a[whole], self.rated_a[whole])] += lasted_s
