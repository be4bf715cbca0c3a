"""The highest instants of a scene: what it asks of each supply, and what the budget limiter leaves of that."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.desired.join import split_supply
from hub.scenes.lights import VenueLights
from hub.scenes.period import Window, window_of
from node_agent.limiter import BudgetLimiter
from schemas import Budget

MOST_SAMPLES: Final = 600
FEWEST_SAMPLES: Final = 30
PIXELS_RENDERED: Final = 2_000_000
CLOSER: Final = 8
_NO_LIMIT_A: Final = 1e9
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
    """

    window_s: float
    whole: bool
    samples: int
    supplies: Mapping[str, SupplyPeak]


def sample_scene(lights: VenueLights, scene: str | None) -> ScenePeaks:
    """Render the scene over its window, then again around its highest instants."""
    window = Window(0.0, whole=True)
    if scene is not None:
        window = window_of(next(one for one in lights.venue.scenes if one.id == scene), lights.extents)
    if window.length_s == 0:
        tally = _Tally(lights, scene)
        tally.look_at(0.0)
        return ScenePeaks(0.0, True, 1, tally.peaks())
    samples = _samples(lights.pixels)
    spacing_s = window.length_s / samples
    tally = _Tally(lights, scene)
    for number in range(samples):
        tally.look_at(number * spacing_s)
    instants = tally.highest_instants(samples // (2 * CLOSER))
    for at_s in instants:
        for step in range(1, CLOSER):
            tally.look_at(at_s - spacing_s * step / CLOSER)
            tally.look_at(at_s + spacing_s * step / CLOSER)
    return ScenePeaks(window.length_s, window.whole, tally.looked_at, tally.peaks())


class _Tally:
    """The highest of each supply so far."""

    def __init__(self, lights: VenueLights, scene: str | None) -> None:
        self._lights, self._scene = lights, scene
        body = lights.joined.body
        joined = lights.limiter.supplies
        budgets = tuple(Budget.model_construct(supply=supply, budget_a=_NO_LIMIT_A) for supply in joined)
        self._unlimited = BudgetLimiter(body.model_copy(update={"budgets": budgets}))
        self._limiter = BudgetLimiter(body)
        self._supplies = list(dict.fromkeys(split_supply(name)[1] for name in joined))
        self._place = np.array([self._supplies.index(split_supply(name)[1]) for name in joined], dtype=np.intp)
        count = len(self._supplies)
        self._seen: list[tuple[float, NDArray[np.float64]]] = []
        self._highest, self._at_s = np.full(count, -1.0), np.zeros(count)
        self._limited, self._scale = np.zeros(count), np.ones(count)

    @property
    def looked_at(self) -> int:
        return len(self._seen)

    def look_at(self, show_s: float) -> None:
        linear = self._lights.linear(self._scene, show_s)
        asked = self._by_supply(self._unlimited.limit(linear, _SETTLED_S).amps)
        self._seen.append((show_s, asked))
        frame = self._limiter.limit(linear, _SETTLED_S)
        np.maximum(self._limited, self._by_supply(frame.amps), out=self._limited)
        np.minimum.at(self._scale, self._place, frame.scale)
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
            for n, supply in enumerate(self._supplies)
        }

    def _by_supply(self, amps: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.bincount(self._place, weights=amps, minlength=len(self._supplies)).astype(np.float64)


def _samples(pixels: int) -> int:
    return max(FEWEST_SAMPLES, min(MOST_SAMPLES, PIXELS_RENDERED // max(pixels, 1)))
