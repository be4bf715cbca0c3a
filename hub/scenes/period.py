"""How long a scene must be looked at to have seen it whole."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from schemas import Chase, Scene, Twinkle, Wave

LONGEST_WINDOW_S: Final = 600.0
TWINKLE_PERIODS: Final = 4


@dataclass(frozen=True, slots=True)
class Window:
    """`length_s` from show time 0, 0 for a scene that stands still. `whole`: after it the scene repeats exactly."""

    length_s: float
    whole: bool


def window_of(scene: Scene) -> Window:
    """The scene's whole period: the least common multiple of its patterns' periods.

    Twinkle never repeats; some of its periods are looked at. No window is longer than LONGEST_WINDOW_S.
    """
    periods = list(_periods(scene))
    twinkles_s = [
        layer.pattern.period_s * TWINKLE_PERIODS for layer in scene.layers if isinstance(layer.pattern, Twinkle)
    ]
    if not periods and not twinkles_s:
        return Window(0.0, whole=True)
    together_s = float(_least_common_multiple(periods)) if periods else 0.0
    if not twinkles_s and together_s <= LONGEST_WINDOW_S:
        return Window(together_s, whole=True)
    return Window(min(max(together_s, *twinkles_s, 0.0), LONGEST_WINDOW_S), whole=False)


def _periods(scene: Scene) -> Iterator[Fraction]:
    """Exact, from the decimals that a person wrote: 0.3 is three tenths."""
    for layer in scene.layers:
        match layer.pattern:
            case Chase(spacing_m=length_m, speed_m_per_s=speed) | Wave(wavelength_m=length_m, speed_m_per_s=speed):
                if speed:
                    yield Fraction(str(length_m)) / Fraction(str(abs(speed)))
            case _:
                pass


def _least_common_multiple(periods: list[Fraction]) -> Fraction:
    numerator = math.lcm(*(period.numerator for period in periods))
    return Fraction(numerator, math.gcd(*(period.denominator for period in periods)))
