"""How long a scene must be looked at to have seen it whole."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from node_agent.render import PatternStatement
from node_agent.render.patterns.statement import exact
from schemas import Extent, Scene

LONGEST_WINDOW_S: Final = 600.0


@dataclass(frozen=True, slots=True)
class Window:
    """`length_s` from show time 0, 0 for a scene that stands still. `whole`: after it the scene repeats exactly."""

    length_s: float
    whole: bool


def window_of(scene: Scene, extents: Mapping[str, Extent]) -> Window:
    """The scene's whole period: the least common multiple of its layers' periods; at most LONGEST_WINDOW_S of it.

    `extents` are those of the zones, by id; layers over other zones count for nothing.
    """
    periods = list(_periods(scene, extents))
    if not periods:
        return Window(0.0, whole=True)
    # Compared as a fraction: patterns that creep have a period beyond any float.
    together_s = _least_common_multiple(periods)
    return Window(float(min(together_s, Fraction(LONGEST_WINDOW_S))), whole=together_s <= LONGEST_WINDOW_S)


def _periods(scene: Scene, extents: Mapping[str, Extent]) -> Iterator[Fraction]:
    for layer in scene.layers:
        if layer.time_scale == 0 or layer.zone not in extents:
            continue
        for pattern in (layer.pattern, layer.mask):
            if isinstance(pattern, PatternStatement):
                period_s = pattern.repeats_after_s(extents[layer.zone])
                if period_s is not None:
                    yield period_s / abs(exact(layer.time_scale))


def _least_common_multiple(periods: list[Fraction]) -> Fraction:
    numerator = math.lcm(*(period.numerator for period in periods))
    return Fraction(numerator, math.gcd(*(period.denominator for period in periods)))
