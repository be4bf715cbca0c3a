"""What a scene asks of each supply over its window, what the limiter lets through, and when it acts."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.desired.join import split_supply
from hub.scenes.lights import Linear, VenueLights
from node_agent.limiter import BudgetLimiter

MOST_POINTS: Final = 120
POINTS_TOLD: Final = 120_000
"""Points of all supplies together: a venue of very many gets fewer each."""
FEWEST_POINTS: Final = 12
MOST_STRETCHES: Final = 24
ACTS_BELOW: Final = 0.995
"""A scale that is this near to 1 cannot be seen, and is approached for ever."""
_SAME: Final = 1e-4
_SETTLED_S: Final = 1e6


@dataclass(frozen=True, slots=True)
class LimiterStretch:
    """Show times between which the limiter acts, and the lowest scale that it applies there."""

    start_s: float
    end_s: float
    lowest_scale: float


@dataclass(frozen=True, slots=True, eq=False)
class SupplyCourse:
    """The highest amps of each of `points` equal parts of the window, and when the limiter acts."""

    asked_a: NDArray[np.float64]
    let_through_a: NDArray[np.float64]
    stretches: tuple[LimiterStretch, ...]


class SupplyShares:
    """The shares that nodes have of supplies, in the limiter's order, gathered by supply."""

    def __init__(self, lights: VenueLights) -> None:
        joined = lights.limiter.supplies
        self.supplies = list(dict.fromkeys(split_supply(name)[1] for name in joined))
        self._place = np.array([self.supplies.index(split_supply(name)[1]) for name in joined], dtype=np.intp)

    def sum(self, amps: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.bincount(self._place, weights=amps, minlength=len(self.supplies)).astype(np.float64)

    def lowest(self, scales: NDArray[np.float64]) -> NDArray[np.float64]:
        lowest = np.ones(len(self.supplies))
        np.minimum.at(lowest, self._place, scales)
        return lowest


class SceneCourse:
    """Follows a scene step by step with a limiter of its own, whose lag is the boards' own."""

    def __init__(self, lights: VenueLights, shares: SupplyShares, spacing_s: float) -> None:
        self._limiter = BudgetLimiter(lights.joined.body)
        self._shares = shares
        self._spacing_s = spacing_s
        self._asked: list[NDArray[np.float64]] = []
        self._let_through: list[NDArray[np.float64]] = []
        self._scales: list[NDArray[np.float64]] = []

    def follow(self, linear: Linear) -> None:
        """The next step's light; before the first the limiter has settled on it."""
        frame = self._limiter.limit(linear, self._spacing_s if self._asked else _SETTLED_S)
        self._asked.append(self._shares.sum(frame.wanted_a))
        self._let_through.append(self._shares.sum(frame.amps))
        self._scales.append(self._shares.lowest(frame.scale))

    def go_round(self, linear_of: Callable[[int], Linear]) -> None:
        """Where the last step leads to the first: follow it from there again, until the limiter does what it did."""
        for number in range(len(self._asked)):
            frame = self._limiter.limit(linear_of(number), self._spacing_s)
            scales = self._shares.lowest(frame.scale)
            if np.abs(scales - self._scales[number]).max(initial=0.0) < _SAME:
                return
            self._scales[number] = scales
            self._let_through[number] = self._shares.sum(frame.amps)

    @property
    def points(self) -> int:
        """Parts of the window that the course is told in."""
        told = POINTS_TOLD // max(len(self._shares.supplies), 1)
        return min(len(self._asked), max(FEWEST_POINTS, min(MOST_POINTS, told)))

    def supplies(self) -> Mapping[str, SupplyCourse]:
        """By supply."""
        starts = np.arange(self.points) * len(self._asked) // self.points
        asked = np.maximum.reduceat(np.array(self._asked), starts, axis=0)
        let_through = np.maximum.reduceat(np.array(self._let_through), starts, axis=0)
        scales = np.array(self._scales)
        return {
            supply: SupplyCourse(asked[:, n], let_through[:, n], tuple(_stretches(scales[:, n], self._spacing_s)))
            for n, supply in enumerate(self._shares.supplies)
        }


def _stretches(scales: NDArray[np.float64], spacing_s: float) -> Iterable[LimiterStretch]:
    """Where `scales` are below ACTS_BELOW; of more than MOST_STRETCHES those across the shortest pauses are joined."""
    acts = np.concatenate(([False], scales < ACTS_BELOW, [False]))
    starts, ends = np.flatnonzero(~acts[:-1] & acts[1:]), np.flatnonzero(acts[:-1] & ~acts[1:])
    if len(starts) > MOST_STRETCHES:
        longest = np.sort(np.argsort(ends[:-1] - starts[1:], kind="stable")[: MOST_STRETCHES - 1])
        starts, ends = starts[np.concatenate(([0], longest + 1))], ends[np.concatenate((longest, [len(ends) - 1]))]
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        yield LimiterStretch(start * spacing_s, end * spacing_s, float(scales[start:end].min()))
