"""The highest instants of a scene: what it asks of each supply, and what the budget limiter leaves of that."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.scenes.course import SceneCourse, SupplyCourse, SupplyShares
from hub.scenes.lights import Linear, VenueLights
from hub.scenes.period import Window, window_of
from node_agent.limiter import BudgetLimiter

MOST_SAMPLES: Final = 600
FEWEST_SAMPLES: Final = 30
PIXELS_RENDERED: Final = 2_000_000
CLOSER: Final = 8
_SETTLED_S: Final = 1e6


@dataclass(frozen=True, slots=True)
class SupplyPeak:
    """A supply at the highest of the instants looked at, over all nodes on it."""

    highest_a: float
    """As rendered, before the limiter."""
    at_s: float
    limited_a: float
    """The highest that the limiter lets through."""
    limiter_scale: float
    """The lowest scale that it applies."""


@dataclass(frozen=True, slots=True)
class ScenePeaks:
    """Peaks by supply, and what was looked at: `samples` instants over `window_s` from show time 0.

    `whole`: the scene repeats after the window. Instants lie evenly, and closer around the highest that were found.
    Peaks find the limiter settled at each instant; the course follows it through the even ones, a point every `step_s`.
    """

    window_s: float
    whole: bool
    samples: int
    supplies: Mapping[str, SupplyPeak]
    step_s: float
    course: Mapping[str, SupplyCourse]


def sample_scene(lights: VenueLights, scene: str | None) -> ScenePeaks:
    """Render the scene over its window, then again around its highest instants."""
    window = Window(0.0, whole=True)
    if scene is not None:
        window = window_of(lights.scenes[scene], lights.extents)
    samples = _samples(lights.pixels) if window.length_s else 1
    spacing_s = window.length_s / samples
    shares = SupplyShares(lights)
    tally, course = _Tally(lights, shares), SceneCourse(lights, shares, spacing_s)
    for number in range(samples):
        linear = lights.linear(scene, number * spacing_s)
        tally.look_at(number * spacing_s, linear)
        course.follow(linear)
    if window.length_s:
        if window.whole:
            course.go_round(lambda number: lights.linear(scene, number * spacing_s))
        for at_s in tally.highest_instants(samples // (2 * CLOSER)):
            for step in range(1, CLOSER):
                for near_s in (at_s - spacing_s * step / CLOSER, at_s + spacing_s * step / CLOSER):
                    tally.look_at(near_s, lights.linear(scene, near_s))
    return ScenePeaks(
        window_s=window.length_s,
        whole=window.whole,
        samples=tally.looked_at,
        supplies=tally.peaks(),
        step_s=window.length_s / course.points,
        course=course.supplies(),
    )


class _Tally:
    """The highest of each supply so far, each instant as the limiter would settle on it."""

    def __init__(self, lights: VenueLights, shares: SupplyShares) -> None:
        self._limiter = BudgetLimiter(lights.joined.body)
        self._shares = shares
        count = len(shares.supplies)
        self._seen: list[tuple[float, NDArray[np.float64]]] = []
        self._highest, self._at_s = np.full(count, -1.0), np.zeros(count)
        self._limited, self._scale = np.zeros(count), np.ones(count)

    @property
    def looked_at(self) -> int:
        return len(self._seen)

    def look_at(self, show_s: float, linear: Linear) -> None:
        frame = self._limiter.limit(linear, _SETTLED_S)
        asked = self._shares.sum(frame.wanted_a)
        self._seen.append((show_s, asked))
        np.maximum(self._limited, self._shares.sum(frame.amps), out=self._limited)
        np.minimum(self._scale, self._shares.lowest(frame.scale), out=self._scale)
        self._at_s = np.where(asked > self._highest, show_s, self._at_s)
        np.maximum(self._highest, asked, out=self._highest)

    def highest_instants(self, most: int) -> list[float]:
        """Up to `most` of the instants so far at which any supply came nearest to its own highest."""
        asked = np.array([asked for _, asked in self._seen])
        nearness = (asked / np.maximum(self._highest, 1e-9)).max(axis=1, initial=0.0)
        return [self._seen[place][0] for place in np.argsort(-nearness, kind="stable")[: max(most, 1)]]

    def peaks(self) -> dict[str, SupplyPeak]:
        return {
            supply: SupplyPeak(
                float(self._highest[n]), float(self._at_s[n]), float(self._limited[n]), float(self._scale[n])
            )
            for n, supply in enumerate(self._shares.supplies)
        }


def _samples(pixels: int) -> int:
    return max(FEWEST_SAMPLES, min(MOST_SAMPLES, PIXELS_RENDERED // max(pixels, 1)))
