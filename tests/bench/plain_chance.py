"""Chance as plain whole numbers: SplitMix64's finaliser, and the noise that is spread from such draws."""

import math
from functools import cache

_MASK = 2**64 - 1
_GOLDEN = 0x9E3779B97F4A7C15
_SPREAD = 3.5  # the noise is told apart so many standard deviations to either side

ONSETS = _MASK


def draw(place: int, seed: int, count: int) -> float:
    """Draw number `count` at a place, in [0, 1)."""
    key = _finalised(place * _GOLDEN & _MASK ^ _finalised(seed))
    return (_finalised(key + _finalised(count)) >> 11) * 2.0**-53


def noise(x_lattice: float, y_lattice: float, time: float, seed: int, still: float) -> float:
    """Noise at a place and time counted in steps of its lattice; 64 steps of time come round again."""
    nearest, (before, at, after) = _spline(time)
    moving = (
        before * _field(x_lattice, y_lattice, (nearest - 1) % 64, seed)
        + at * _field(x_lattice, y_lattice, nearest % 64, seed)
        + after * _field(x_lattice, y_lattice, (nearest + 1) % 64, seed)
    )
    if still:
        moving = math.sqrt(1 - still) * moving + math.sqrt(still) * _field(x_lattice, y_lattice, 64, seed)
    deviation = min(max(moving, -_SPREAD), _SPREAD)
    return 0.5 * (1 + math.erf(deviation / math.sqrt(2)))


def _field(x_lattice: float, y_lattice: float, step: int, seed: int) -> float:
    column, across = _spline(x_lattice)
    row, up = _spline(y_lattice)
    total = 0.0
    for rows, by_y in zip((-1, 0, 1), up, strict=True):
        for columns, by_x in zip((-1, 0, 1), across, strict=True):
            total += by_y * by_x * _deviation(column + columns, row + rows, step, seed)
    return total


@cache
def _deviation(column: int, row: int, step: int, seed: int) -> float:
    return (draw((row * 2**32 + column) & _MASK, seed, step) - 0.5) * math.sqrt(12)


def _spline(place: float) -> tuple[int, tuple[float, float, float]]:
    nearest = math.floor(place + 0.5)
    past = place - nearest
    before, at, after = 0.5 * (0.5 - past) ** 2, 0.75 - past**2, 0.5 * (0.5 + past) ** 2
    size = math.sqrt(before**2 + at**2 + after**2)
    return nearest, (before / size, at / size, after / size)


def _finalised(value: int) -> int:
    value = value + _GOLDEN & _MASK
    value = (value ^ value >> 30) * 0xBF58476D1CE4E5B9 & _MASK
    value = (value ^ value >> 27) * 0x94D049BB133111EB & _MASK
    return value ^ value >> 31
