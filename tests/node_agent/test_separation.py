"""A white emitter takes over what it can make of a colour: what the four show together is what was asked for."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from node_agent.limiter import BudgetLimiter
from node_agent.render import linear_of_kelvin
from node_agent.separation import separate_white, white_light
from schemas import DesiredBody
from tests.node_agent.limits import RGBW, START_S, body, flat

KELVINS = st.none() | st.floats(1_000, 20_000)


def of_kelvin(kelvin: float | None, pixels: int = 30) -> DesiredBody:
    content = body(pixels, 100.0, RGBW)
    (channel,) = content.channels
    return content.model_copy(update={"channels": (channel.model_copy(update={"white_emitter_k": kelvin}),)})


def separated(colour: NDArray[np.float32], kelvin: float | None) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """(what is left to red, green and blue; white), shapes (3, pixels) and (pixels,)."""
    left, white = colour.T.copy(), np.empty(len(colour), dtype=np.float32)
    separate_white(left, white_light(of_kelvin(kelvin).channels[0]), white)
    return left, white


@settings(max_examples=300)
@given(seed=st.integers(0, 2**32 - 1), kelvin=KELVINS)
def test_light_that_comes_out_is_the_light_that_went_in(seed: int, kelvin: float | None) -> None:
    colour = np.random.default_rng(seed).random((60, 3), dtype=np.float32)
    left, white = separated(colour, kelvin)
    light = white_light(of_kelvin(kelvin).channels[0])
    np.testing.assert_allclose((left + white * light[:, None]).T, colour, atol=1e-6)
    assert left.min() >= 0
    assert white.min() >= 0
    assert white.max() <= 1


@settings(max_examples=100)
@given(seed=st.integers(0, 2**32 - 1), kelvin=KELVINS)
def test_white_takes_over_all_that_it_can(seed: int, kelvin: float | None) -> None:
    """One of the three is left with nothing: a little more white would show too much of it."""
    left, _ = separated(np.random.default_rng(seed).random((60, 3), dtype=np.float32), kelvin)
    assert (left.min(axis=0) <= 1e-6).all()


@settings(max_examples=100)
@given(kelvin=st.floats(1_000, 20_000), level=st.floats(0.01, 1), show_s=st.none() | st.just(START_S))
def test_white_of_exactly_that_temperature_uses_the_white_emitter_alone(
    kelvin: float, level: float, show_s: float | None
) -> None:
    frame = flat(30, *(linear_of_kelvin(kelvin) * np.float32(level)))
    codes = BudgetLimiter(of_kelvin(kelvin)).limit(frame, 0.02, show_s).codes
    assert not codes[:, :3].any()
    assert np.abs(codes[:, 3] - level * 255).max() <= 1


@pytest.mark.parametrize(
    ("kelvin", "rgb", "codes"),
    [
        (None, (1.0, 0.6, 0.4), [153, 51, 0, 102]),
        # A black body of 2700 K in linear sRGB is 1, .4154, .0991 (computed independently): white needs all of it.
        (2_700.0, (1.0, 0.4154, 0.0991), [0, 0, 0, 255]),
        # Of a neutral white it takes as much as there is red for, and leaves green and blue: 255 × (1 − .4154) = 149.
        (2_700.0, (1.0, 1.0, 1.0), [0, 149, 230, 255]),
        # A candle white of 1500 K has no blue, so blue stays where it was.
        (1_500.0, (0.0, 0.0, 0.5), [0, 0, 128, 0]),
    ],
)
def test_separation_of_known_colours(kelvin: float | None, rgb: tuple[float, float, float], codes: list[int]) -> None:
    shown = BudgetLimiter(of_kelvin(kelvin, 1)).limit(flat(1, *rgb), 0.02).codes
    assert np.abs(shown[0].astype(int) - codes).max() <= 1
