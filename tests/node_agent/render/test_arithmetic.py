"""The arithmetic of formulas: right by Python's own mathematics, the same bits wherever a number stands."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from node_agent.render.arithmetic import FUNCTIONS, REMAINDER, Operation

VALUES = np.concatenate(
    [np.random.default_rng(3).uniform(-30, 30, 4_000), np.linspace(-1e6, 1e6, 501), [0.0, -0.0, 1e-12, 0.25, 1e9]]
)
EVERY = {**FUNCTIONS, "%": REMAINDER}


def smooth(low: float, high: float, value: float) -> float:
    share = min(max((value - low) / (high - low), 0), 1)
    return share * share * (3 - 2 * share)


REFERENCES: dict[str, Callable[..., float]] = {
    "sin": math.sin,
    "cos": math.cos,
    "exp": lambda value: math.exp(min(max(value, -700), 700)),
    "abs": abs,
    "floor": math.floor,
    "fract": lambda value: value - math.floor(value),
    "sqrt": lambda value: math.sqrt(value) if value >= 0 else math.nan,
    "min": min,
    "max": max,
    "step": lambda edge, value: float(value >= edge),
    "clamp": lambda value, low, high: min(max(value, low), high),
    "mix": lambda one, other, share: one + (other - one) * share,
    "smooth": smooth,
    "%": lambda value, divisor: value - math.floor(value / divisor) * divisor,
}


def arguments_of(operation: Operation) -> list[np.ndarray]:
    return [np.roll(VALUES, 7 * number) + 0.3 * number for number in range(operation.arguments)]


@pytest.mark.parametrize("name", EVERY)
def test_it_agrees_with_the_mathematics_of_python(name: str) -> None:
    operation = EVERY[name]
    with np.errstate(all="ignore"):
        found = operation.work(*arguments_of(operation), out=None)
    expected = [REFERENCES[name](*given) for given in np.stack(arguments_of(operation), axis=-1).tolist()]
    # Radians beyond a million lose some of their decimals on the way to turns.
    np.testing.assert_allclose(found, expected, rtol=1e-10, atol=1e-7 if name in ("sin", "cos") else 1e-12)


def test_sine_is_exact_where_light_begins_and_ends() -> None:
    assert FUNCTIONS["sin"].work(np.float64(0.0), out=None) == 0
    assert FUNCTIONS["cos"].work(np.float64(0.0), out=None) == pytest.approx(1, abs=1e-11)


@pytest.mark.parametrize("name", EVERY)
def test_the_same_numbers_give_the_same_bits_in_any_array_alone_and_into_a_buffer(name: str) -> None:
    operation = EVERY[name]
    arguments = arguments_of(operation)
    with np.errstate(all="ignore"):
        whole = operation.work(*arguments, out=None)
        for length in range(1, 68):
            for offset in (0, 1, 3, 17, 4_001):
                part = slice(offset, offset + length)
                given = [argument[part] for argument in arguments]
                buffer = np.empty(given[0].size)
                assert operation.work(*given, out=None).tobytes() == whole[part].tobytes()
                assert operation.work(*given, out=buffer).tobytes() == whole[part].tobytes()
        for place in (0, 5, 4_000, 4_502):
            alone = operation.work(*(argument[place] for argument in arguments), out=None)
            assert np.float64(alone).tobytes() == whole[place].tobytes()


@pytest.mark.parametrize("name", EVERY)
def test_what_is_no_number_raises_nothing(name: str) -> None:
    operation = EVERY[name]
    odd = np.array([math.nan, math.inf, -math.inf, 0.0, 1e300, -1e300, 5e-324])
    with np.errstate(all="ignore"):
        for number in range(operation.arguments):
            operation.work(*(np.roll(odd, number * place) for place in range(operation.arguments)), out=None)
