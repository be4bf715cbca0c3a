"""The highest instants of a scene: what it asks of each supply, and what the budget limiter leaves of that."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from hub.desired.join import split_supply
from hub.scenes.lights import VenueLights
from node_agent.limiter import BudgetLimiter
from schemas import Budget, Chase, Scene, Twinkle, Wave

LONGEST_WINDOW_S: Final = 120.0
TWINKLE_PERIODS: Final = 8
MOST_SAMPLES: Final = 300
FEWEST_SAMPLES: Final = 30
PIXELS_RENDERED: Final = 2_000_000
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
    """Peaks by supply, and what was looked at: `samples` instants evenly over `window_s` from show time 0."""

    window_s: float
    samples: int
    supplies: Mapping[str, SupplyPeak]


def sample_scene(lights: VenueLights, scene: str | None) -> ScenePeaks:
    """Render the scene over its window. Highest instants are found to within the spacing of the samples."""
    window_s = 0.0
    if scene is not None:
        window_s = window_of(next(one for one in lights.venue.scenes if one.id == scene))
    samples = 1 if window_s == 0 else _samples(lights.pixels)
    body = lights.joined.body
    joined = lights.limiter.supplies
    unlimited = BudgetLimiter(
        body.model_copy(
            update={"budgets": tuple(Budget.model_construct(supply=supply, budget_a=_NO_LIMIT_A) for supply in joined)}
        )
    )
    limiter = BudgetLimiter(body)
    supplies = list(dict.fromkeys(split_supply(name)[1] for name in joined))
    place = np.array([supplies.index(split_supply(name)[1]) for name in joined], dtype=np.intp)
    highest, at = np.full(len(supplies), -1.0), np.zeros(len(supplies))
    limited, scale = np.zeros(len(supplies)), np.ones(len(supplies))
    for show_s in np.arange(samples) * (window_s / samples):
        linear = lights.linear(scene, float(show_s))
        asked = np.bincount(place, weights=unlimited.limit(linear, _SETTLED_S).amps, minlength=len(supplies))
        frame = limiter.limit(linear, _SETTLED_S)
        limited = np.maximum(limited, np.bincount(place, weights=frame.amps, minlength=len(supplies)))
        np.minimum.at(scale, place, frame.scale)
        at = np.where(asked > highest, show_s, at)
        highest = np.maximum(highest, asked)
    return ScenePeaks(
        window_s,
        samples,
        {
            supply: SupplyPeak(float(highest[n]), float(at[n]), float(limited[n]), float(scale[n]))
            for n, supply in enumerate(supplies)
        },
    )


def window_of(scene: Scene) -> float:
    """Seconds after which a scene has shown what it can: twice its longest period; 0 for one that stands still.

    Layers of unlike periods repeat as a whole much later, or never; the window stays within LONGEST_WINDOW_S.
    """
    longest_s = 0.0
    for layer in scene.layers:
        match layer.pattern:
            case Chase(spacing_m=length_m, speed_m_per_s=speed) | Wave(wavelength_m=length_m, speed_m_per_s=speed):
                longest_s = max(longest_s, length_m / abs(speed) if speed else 0.0)
            case Twinkle(period_s=period_s):
                longest_s = max(longest_s, period_s * TWINKLE_PERIODS / 2)
            case _:
                pass
    return min(2 * longest_s, LONGEST_WINDOW_S)


def _samples(pixels: int) -> int:
    return max(FEWEST_SAMPLES, min(MOST_SAMPLES, PIXELS_RENDERED // max(pixels, 1)))
