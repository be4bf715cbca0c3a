"""Fronts and signals made for tests of flashes."""

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from hub.scenes.flash.analysis import FlashAnalysis
from hub.scenes.flash.front import Front, front_of
from hub.scenes.flash.instants import FINEST_INTERVAL_S, instants
from hub.scenes.flash.tally import Worst
from hub.scenes.flash.thresholds import Test

Light = NDArray[np.float32]
State = tuple[float, float, float]
WHITE, BLACK, RED = (1.0, 1.0, 1.0), (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)


def patch(side_m: float = 1.0, pitch_m: float = 0.1, left_m: float = 0.0) -> NDArray[np.float64]:
    """Pixels in a square: each stands for a square of `pitch_m` of it, where the reach is at least as much."""
    steps = (np.arange(round(side_m / pitch_m)) + 0.5) * pitch_m
    right, up = np.meshgrid(left_m + steps, steps)
    return np.stack((right.ravel(), up.ravel()), axis=1)


def front(points_m: NDArray[np.float64] | None = None, distance_m: float = 5.0, reach_m: float = 0.25) -> Front:
    return front_of(patch() if points_m is None else points_m, distance_m, reach_m)


def strobe(rate_hz: float, lit: State = WHITE, dark: State = BLACK, phase: float = 0.0) -> Callable[[float], Light]:
    """Half of each round lit, half dark."""

    def at(show_s: float) -> Light:
        state = lit if (show_s * rate_hz + phase) % 1.0 < 0.5 else dark
        return np.array(state, dtype=np.float32)

    return at


def watched(
    before: Front, light: Callable[[float], Light], until_s: float = 4.0, interval_s: float = FINEST_INTERVAL_S
) -> dict[Test, Worst]:
    """`light(show_s)` of shape (pixels, 3), or (3,) for all pixels alike."""
    return analysed(before, ((at_s, light(at_s)) for at_s in instants(until_s, interval_s)))


def analysed(before: Front, frames: Iterator[tuple[float, Light]]) -> dict[Test, Worst]:
    analysis = FlashAnalysis(before)
    for at_s, light in frames:
        analysis.add(at_s, np.broadcast_to(light, (len(before.pixel_sr), 3)))
    return analysis.worst()


def failing(worst: dict[Test, Worst]) -> set[Test]:
    return {test for test, found in worst.items() if found.fails}
