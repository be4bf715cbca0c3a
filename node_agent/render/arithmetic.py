"""The arithmetic of formulas: functions of arrays or single numbers that give the same bits everywhere.

Sine and exponential are made of additions and multiplications, which IEEE 754 rounds in one way only: so neither the
kind of processor, nor where a zone is cut over boards, nor what stands beside a number in an array, shows in a frame.
What is no number stays none, and nothing raises.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

# An array of float64, or a single number; `out` is an array to write into, or None.
Value = Any
Out = NDArray[np.float64] | None

# sin(2πu) for |u| <= 1/4 turn by its Taylor series, whose first term left out is below 1e-11 there.
_SINE: Final = tuple((-1) ** n * math.tau ** (2 * n + 1) / math.factorial(2 * n + 1) for n in range(8))
# exp(v) for |v| <= ln 2 / 2, likewise.
_EXPONENTIAL: Final = tuple(1 / math.factorial(n) for n in range(11))


@dataclass(frozen=True, slots=True)
class Operation:
    """How many arguments it takes, what it does, and what it costs a pixel, in additions."""

    arguments: int
    work: Callable[..., Value]
    cost: float = 1.0


def cosine(angle: Value, out: Out = None) -> Value:
    """Of radians."""
    return _cosine_of_turns(np.multiply(angle, 1 / math.tau, out=out), out)


def sine(angle: Value, out: Out = None) -> Value:
    """Of radians."""
    turns = np.multiply(angle, 1 / math.tau, out=out)
    return _cosine_of_turns(np.subtract(turns, 0.25, out=out), out)


def _cosine_of_turns(turns: Value, out: Out) -> Value:
    """cos(2πr) is sin(2π(¼ − |r|)), and ¼ − |r| lies within a quarter turn where r lies within half a one."""
    turns = np.subtract(turns, np.rint(turns), out=out)
    turns = np.subtract(0.25, np.abs(turns, out=out), out=out)
    return np.multiply(_series(turns * turns, _SINE), turns, out=out)


def exponential(value: Value, out: Out = None) -> Value:
    """2^k × exp(r), with k whole and r small."""
    value = np.clip(value, -700.0, 700.0, out=out)
    whole = np.rint(value * (1 / math.log(2)))
    value = np.subtract(value, whole * math.log(2), out=out)
    # What is no number has no power of two either; in the series it stays none.
    power = np.fmax(whole, -1100.0).astype(np.int32)
    return np.ldexp(_series(value, _EXPONENTIAL), power, out=out)


def _series(value: Value, coefficients: tuple[float, ...]) -> Value:
    total = value * coefficients[-1]
    for coefficient in coefficients[-2:0:-1]:
        total += coefficient
        total *= value
    total += coefficients[0]
    return total


def remainder(value: Value, divisor: Value, out: Out = None) -> Value:
    """From 0 to the divisor, as in Python."""
    whole = np.floor(value / divisor)
    return np.subtract(value, whole * divisor, out=out)


def fraction(value: Value, out: Out = None) -> Value:
    return np.subtract(value, np.floor(value), out=out)


def step(edge: Value, value: Value, out: Out = None) -> Value:
    """0 below the edge, 1 from it on."""
    return np.multiply(np.greater_equal(value, edge), 1.0, out=out)


def clamp(value: Value, low: Value, high: Value, out: Out = None) -> Value:
    return np.minimum(np.maximum(value, low, out=out), high, out=out)


def mix(one: Value, other: Value, share: Value, out: Out = None) -> Value:
    return np.add(one, (other - one) * share, out=out)


def smooth(low: Value, high: Value, value: Value, out: Out = None) -> Value:
    """From 0 at `low` to 1 at `high`, level at both ends: 3u² − 2u³."""
    share = np.clip((value - low) / (high - low), 0.0, 1.0)
    return np.multiply(share * share, 3.0 - 2.0 * share, out=out)


FUNCTIONS: Final = MappingProxyType(
    {
        "sin": Operation(1, sine, 20),
        "cos": Operation(1, cosine, 19),
        "exp": Operation(1, exponential, 30),
        "abs": Operation(1, np.abs),
        "floor": Operation(1, np.floor),
        "fract": Operation(1, fraction, 2),
        "sqrt": Operation(1, np.sqrt, 2),
        "min": Operation(2, np.minimum),
        "max": Operation(2, np.maximum),
        "step": Operation(2, step, 2),
        "clamp": Operation(3, clamp, 2),
        "mix": Operation(3, mix, 3),
        "smooth": Operation(3, smooth, 8),
    }
)
"""What may be called by name."""

ADD: Final = Operation(2, np.add)
SUBTRACT: Final = Operation(2, np.subtract)
MULTIPLY: Final = Operation(2, np.multiply)
DIVIDE: Final = Operation(2, np.divide, 2)
REMAINDER: Final = Operation(2, remainder, 6)
NEGATE: Final = Operation(1, np.negative)
