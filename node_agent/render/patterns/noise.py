"""Smooth chance over the elevation and over time: what glows, drifts and clouds is made of.

A value drawn for every point of a lattice over x, y and time, spread by quadratic B-splines. Their weights are brought
to a sum of squares of 1, so that the spread of values is the same everywhere and always: neither the lattice nor its
beat is seen.
"""

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from node_agent.render.patterns.chance import PERIODS, Keys, draw, keys_of
from node_agent.render.patterns.light import Light
from node_agent.render.patterns.statement import exact
from node_agent.render.placement import Placement
from node_agent.render.ramp import Ramp

_SPREAD: Final = 3.5  # standard deviations to either side that are told apart; one value in two thousand lies beyond
_STEPS_PER_PERIOD: Final = 4  # a value then swings up and down about once in a period (Rice: once in 4.7 steps)
_STEPS_PER_SIZE: Final = 2  # and half a swing is about a size across
_ROUND: Final = PERIODS * _STEPS_PER_PERIOD
_STILL: Final = _ROUND  # the step that is of no time
_ROW: Final = 2**32  # points of a lattice are numbered by rows

Array = NDArray[np.float32]
_Real = TypeVar("_Real", float, NDArray[np.float64])


class Noise:
    """Values at the pixels of a placement, normally distributed over all places and times.

    What depends on place is worked out for each step of time only; in between, a frame mixes three of those. `still` is
    the share of the variance that belongs to the place alone, at any time.
    """

    def __init__(self, placement: Placement, size_m: float, period_s: float, seed: int, still: float = 0.0) -> None:
        self.pixels = placement.x_m.size
        self._steps_per_s = _STEPS_PER_PERIOD / period_s
        lattice = _STEPS_PER_SIZE / size_m
        x_cell, x_weights = _splined(placement.x_m * lattice)
        y_cell, y_weights = _splined(placement.y_m * lattice)
        points = [(y_cell + row) * _ROW + x_cell + column for row in (-1, 0, 1) for column in (-1, 0, 1)]
        drawn, index = np.unique(np.stack(points), return_inverse=True)
        self._keys: Keys = keys_of(drawn, seed)
        self._index = index.reshape(len(points), -1)
        self._weights = np.stack([by_y * by_x for by_y in y_weights for by_x in x_weights]).astype(np.float32)
        self._fields: dict[int, Array] = {}
        self._around: list[Array] = []
        self._nearest: int | None = None
        self._part = np.empty(x_cell.size, dtype=np.float32)
        self._moving = math.sqrt(1 - still) / (2 * _SPREAD)
        self._still = np.float32(math.sqrt(still) / (2 * _SPREAD)) * self._field(_STILL) + np.float32(0.5)

    def at(self, show_time_s: float, out: Array) -> None:
        """Values into `out`, shape (pixels,): 0.5 on average, nearly all in 0..1; `share_below` says how they lie."""
        steps = show_time_s * self._steps_per_s
        nearest = math.floor(steps + 0.5)
        self._draw_around(nearest)
        first, second, third = (np.float32(weight * self._moving) for weight in _weights(steps - nearest))
        part = self._part
        np.multiply(self._around[0], first, out=out)
        np.multiply(self._around[1], second, out=part)
        out += part
        np.multiply(self._around[2], third, out=part)
        out += part
        out += self._still

    def _draw_around(self, step: int) -> None:
        if step == self._nearest:
            return
        numbers = [(step + number) % _ROUND for number in (-1, 0, 1)]
        self._fields = {
            number: self._fields[number] if number in self._fields else self._field(number) for number in numbers
        }
        self._around = [self._fields[number] for number in numbers]
        self._nearest = step

    def _field(self, step: int) -> Array:
        """Values at one step of time, of variance 1. Added up term by term, as no sum over an axis would be alike for
        any number of pixels."""
        drawn = ((draw(self._keys, step) - 0.5) * math.sqrt(12)).astype(np.float32)
        field = np.zeros(self._part.size, dtype=np.float32)
        for index, weight in zip(self._index, self._weights, strict=True):
            np.take(drawn, index, out=self._part, mode="clip")
            self._part *= weight
            field += self._part
        return field


class NoiseLight:
    """Noise looked up in a ramp."""

    def __init__(self, noise: Noise, ramp: Ramp) -> None:
        self._noise, self._ramp = noise, ramp
        self._height = np.empty(noise.pixels, dtype=np.float32)
        self._index = np.empty(noise.pixels, dtype=np.intp)
        self._light = Light(np.empty((3, noise.pixels), dtype=np.float32))

    def evaluate(self, show_time_s: float) -> Light:
        self._noise.at(show_time_s, self._height)
        self._ramp.look_up(self._height, self._index, self._light.colour)
        return self._light


def share_below(value: NDArray[np.float64]) -> NDArray[np.float64]:
    """The share of all values that lie below one of `Noise.at`: the normal distribution."""
    deviations = (value - 0.5) * 2 * _SPREAD
    return np.array([0.5 + 0.5 * math.erf(deviation / math.sqrt(2)) for deviation in deviations])


def noise_period_s(period_s: float) -> Fraction:
    """After how long the noise comes again."""
    return PERIODS * exact(period_s)


def _splined(place: NDArray[np.float64]) -> tuple[NDArray[np.int64], Sequence[NDArray[np.float64]]]:
    """The lattice point nearest to each place, and the weights of the one before it, of it and of the one after."""
    nearest = np.floor(place + 0.5)
    return nearest.astype(np.int64), _weights(place - nearest)


def _weights(past: _Real) -> tuple[_Real, _Real, _Real]:
    """The quadratic B-spline at a place -0.5..0.5 past its nearest point, brought to a sum of squares of 1."""
    early, late = 0.5 - past, 0.5 + past
    before, at, after = 0.5 * early * early, 0.75 - past * past, 0.5 * late * late
    size = np.sqrt(before * before + at * at + after * after)
    return before / size, at / size, after / size
