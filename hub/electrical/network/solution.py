"""Volts and amps of a solved network."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hub.electrical.network.elements import Ladder


@dataclass(frozen=True, slots=True, eq=False)
class LadderSolution:
    """A run. Conductors come in pairs: `feed_a` and `step_a` flow in the positive one, `feed_return_a` and
    `step_return_a` flow back in the negative one. They differ only where the negative rail carries current past a cut.

    volts: (pixels,) between the rails; nan in a section that no feed reaches. A pixel whose current cannot fall keeps
    it at any volts, even below 0: no such state exists, the run is far overloaded then.
    load_a: (pixels,) as drawn in the end; 0 where no feed reaches.
    feed_a: (feeds,) negative where the supply is fed backwards.
    step_a: (pixels - 1,) from pixel k to k + 1, signed; 0 across a cut. step_return_a: from k + 1 to k.
    below_minimum: (pixels,) below the lowest working volts.
    """

    volts: NDArray[np.float64]
    load_a: NDArray[np.float64]
    feed_a: NDArray[np.float64]
    feed_return_a: NDArray[np.float64]
    step_a: NDArray[np.float64]
    step_return_a: NDArray[np.float64]
    below_minimum: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class NetworkSolution:
    """A venue. source_a: (sources,). source_volts: (sources,) at the terminals, after the output resistance.
    paralleled: (ladder, source, other source) that one section joins."""

    ladders: tuple[LadderSolution, ...]
    source_a: NDArray[np.float64]
    source_volts: NDArray[np.float64]
    paralleled: tuple[tuple[int, int, int], ...]


def heat_w_per_m(solution: LadderSolution, ladder: Ladder, pixels_per_m: float) -> NDArray[np.float64]:
    """(pixels - 1,) watts per metre in the copper of both rails, each of half the loop's ohms."""
    squares = (solution.step_a**2 + solution.step_return_a**2) / 2
    heat: NDArray[np.float64] = squares * (ladder.step_ohm * pixels_per_m)
    return heat


def feed_drop_v(solution: LadderSolution, ladder: Ladder) -> NDArray[np.float64]:
    """(feeds,) volts between the supply's terminals and the pixel, lost in both conductors."""
    return _loop_ohm(ladder) * (solution.feed_a + solution.feed_return_a) / 2


def feed_heat_w(solution: LadderSolution, ladder: Ladder) -> NDArray[np.float64]:
    """(feeds,) watts in both conductors."""
    return _loop_ohm(ladder) * (solution.feed_a**2 + solution.feed_return_a**2) / 2


def _loop_ohm(ladder: Ladder) -> NDArray[np.float64]:
    return np.array([feed.loop_ohm for feed in ladder.feeds], dtype=np.float64)
