"""The budget limiter with dithering: the mean of frames lies between codes, and each frame keeps to the budget."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from node_agent.dither import NodeFrames, levels_of
from node_agent.frame_rate import frame_period_s
from node_agent.limiter import BudgetLimiter, LimitedFrame
from schemas import Budget, DesiredBody, Feed, PixelType
from tests.node_agent.limits import RGB, RGBW, START_S, body, flat, random_frame


def shown(content: DesiredBody, frame: NDArray[np.float32], count: int | None = None) -> tuple[int, list[LimitedFrame]]:
    """L, and a frame shown L times (or `count`) by a limiter that has settled on it."""
    limiter, period_s = BudgetLimiter(content), frame_period_s(content)
    levels = levels_of(period_s)
    limiter.limit(frame, 1e6)
    return levels, [limiter.limit(frame, period_s, START_S + number * period_s) for number in range(count or levels)]


@settings(max_examples=150)
@given(
    seed=st.integers(0, 2**32 - 1),
    pixels=st.integers(1, 400),
    rate_hz=st.sampled_from((None, 25.0, 60.0, 110.0, 200.0)),
    kind=st.sampled_from(("noise", "dim")),
    pixel_type=st.sampled_from((RGB, RGBW)),
)
def test_mean_of_dithered_frames_is_the_value_between_codes(
    seed: int, pixels: int, rate_hz: float | None, kind: str, pixel_type: PixelType
) -> None:
    content = body(pixels, 100.0, pixel_type).model_copy(update={"frame_rate_limit_hz": rate_hz})
    frame = random_frame(pixels, seed, kind)
    levels, frames = shown(content, frame)
    exact = np.zeros((pixels, 4))
    exact[:, :3] = frame * 255
    if pixel_type is RGBW:
        exact[:, 3] = exact[:, :3].min(axis=1)
        exact[:, :3] -= exact[:, 3:]
    mean = np.mean([limited.codes for limited in frames], axis=0)
    assert np.abs(mean - exact).max() <= 0.5 / levels + 1e-4


@pytest.mark.parametrize("rate_hz", [None, 25.0, 60.0, 110.0])
def test_dark_stays_dark_and_full_stays_full_in_every_dithered_frame(rate_hz: float | None) -> None:
    content = body(60, 100.0).model_copy(update={"frame_rate_limit_hz": rate_hz})
    for frame, code in ((flat(60, 0, 0, 0), 0), (flat(60, 1, 1, 1), 255)):
        assert all((limited.codes[:, :3] == code).all() for limited in shown(content, frame, 20)[1])


def test_deep_fade_goes_down_in_sixteenths_of_a_code() -> None:
    """From four codes to none, as a fade of a minute ends: rounded it has 5 levels, dithered 64."""
    content = body(48, 100.0)
    means = [
        float(np.mean([limited.codes[:, 0] for limited in shown(content, flat(48, level, 0, 0))[1]]))
        for level in np.linspace(4 / 255, 0, 200)
    ]
    assert np.diff(means).max() <= 0
    assert -np.diff(means).min() <= 1 / 16 + 1e-9
    assert len(set(means)) == 65


@settings(max_examples=100)
@given(level=st.floats(0, 1), budget_a=st.floats(0.5, 10.0))
def test_draw_of_an_even_colour_stands_from_frame_to_frame(level: float, budget_a: float) -> None:
    """Its emitters change codes in turn; on 60 pixels 16 thresholds leave at most 4 of each colour uneven."""
    _, frames = shown(body(60, budget_a), flat(60, level, level, level), 32)
    code_a = 0.0197 / 255
    amps = [limited.amps[0] for limited in frames]
    assert max(amps) <= budget_a
    assert max(amps) - min(amps) <= 3 * 8 * code_a
    assert len({limited.scale[0] for limited in frames}) == 1


def test_limited_white_is_dithered_below_the_budget_and_keeps_its_hue() -> None:
    levels, frames = shown(body(150, 1.0), flat(150, 1, 0.5, 0.25))
    mean = np.mean([limited.codes[:, :3] for limited in frames], axis=0)
    exact = np.array([1, 0.5, 0.25]) * 255 * frames[0].scale[0]
    assert frames[0].scale[0] < 0.2
    assert np.abs(mean - exact).max() <= 0.5 / levels + 1e-4
    assert max(limited.amps[0] for limited in frames) <= 1.0


def test_joined_nodes_are_limited_and_dithered_as_each_of_them_alone() -> None:
    bodies_of = [body(20, 0.3), body(400, 2.0), body(70, 100.0)]
    frames_of = [random_frame(20, 1, "full"), random_frame(400, 2, "noise"), random_frame(70, 3, "dim")]
    joined = DesiredBody.model_construct(
        telemetry_interval_s=5.0,
        channels=tuple(
            content.channels[0].model_copy(update={"number": number, "feeds": (feed(f"{number}/a"),)})
            for number, content in enumerate(bodies_of, start=1)
        ),
        budgets=tuple(
            Budget.model_construct(supply=f"{number}/a", budget_a=content.budgets[0].budget_a)
            for number, content in enumerate(bodies_of, start=1)
        ),
    )
    nodes = [NodeFrames(content.channels[0].pixels, frame_period_s(content)) for content in bodies_of]
    venue, alone = BudgetLimiter(joined, nodes), [BudgetLimiter(content) for content in bodies_of]
    for number in range(20):
        at_s = START_S + number * 0.0037
        whole = venue.limit(np.concatenate(frames_of), 0.02, at_s)
        each = [limiter.limit(frame, 0.02, at_s).codes for limiter, frame in zip(alone, frames_of, strict=True)]
        assert whole.codes.tobytes() == np.concatenate(each).tobytes()


def feed(supply: str) -> Feed:
    return Feed.model_construct(supply=supply, at_pixel=0, wire_mm2=1.0, length_m=1.0)
