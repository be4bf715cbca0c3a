"""Bodies and frames for tests of the budget limiter."""

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from schemas import PIXEL_CATALOGUE, Budget, DesiredBody, DesiredChannel, Feed, PixelType, WhiteBalance

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
RGBW = PIXEL_CATALOGUE["rgbw-5v-nrz800"]
FRAME_S = 0.02
START_S = 1_800_000_000.0


def body(
    pixels: int = 30,
    budget_a: float | None = 1.0,
    pixel_type: PixelType = RGB,
    white_balance: WhiteBalance | None = None,
) -> DesiredBody:
    channel = DesiredChannel(
        number=1,
        pin="spidev0.0",
        pixels=pixels,
        pixel_type=pixel_type,
        white_balance=white_balance or WhiteBalance(),
        feeds=(Feed(supply="a", wire_mm2=1.5, length_m=2.0),),
    )
    budgets = () if budget_a is None else (Budget(supply="a", budget_a=budget_a),)
    return DesiredBody(telemetry_interval_s=5.0, channels=(channel,), budgets=budgets)


def flat(pixels: int, *rgb: float) -> NDArray[np.float32]:
    return np.tile(np.array(rgb, dtype=np.float32), (pixels, 1))


def random_frame(pixels: int, seed: int, kind: str) -> NDArray[np.float32]:
    noise = np.random.default_rng(seed).random((pixels, 3), dtype=np.float32)
    match kind:
        case "full":
            return np.ones_like(noise)
        case "dim":
            return noise * np.float32(0.01)
        case "sparse":
            return noise * (noise > 0.9)
        case "black":
            return np.zeros_like(noise)
    return noise


@st.composite
def bodies(draw: st.DrawFn) -> DesiredBody:
    """One to four channels of either pixel type, with up to three feeds of three supplies, some without a budget."""
    channels = []
    for number in range(1, draw(st.integers(1, 4)) + 1):
        pixels = draw(st.integers(1, 120))
        feeds = draw(st.lists(st.tuples(st.sampled_from("abc"), st.integers(0, pixels - 1)), max_size=3))
        gain = st.floats(0.05, 1.0)
        channels.append(
            DesiredChannel(
                number=number,
                pin=f"spidev0.{number}",
                pixels=pixels,
                pixel_type=draw(st.sampled_from((RGB, RGBW))),
                white_balance=WhiteBalance(red=draw(gain), green=draw(gain), blue=draw(gain), white=draw(gain)),
                feeds=tuple(Feed(supply=name, at_pixel=at, wire_mm2=1.0, length_m=1.0) for name, at in feeds),
            )
        )
    budgets = draw(st.dictionaries(st.sampled_from("abc"), st.floats(0, 12)))
    return DesiredBody(
        frame_rate_limit_hz=draw(st.sampled_from((None, 25.0, 60.0, 130.0))),
        telemetry_interval_s=5.0,
        channels=tuple(channels),
        budgets=tuple(Budget(supply=name, budget_a=budget_a) for name, budget_a in budgets.items()),
    )


SHOW_TIMES = st.none() | st.sampled_from((0.0, START_S)) | st.floats(0, 4e9)
