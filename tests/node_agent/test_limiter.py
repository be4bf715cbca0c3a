"""The budget limiter: never over budget, hue kept, release slow and without pumping."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from node_agent.frame_rate import frame_period_s
from node_agent.limiter import RELEASE_S, SAFE_BUDGET_A, BudgetLimiter
from node_agent.power import PowerModel
from schemas import DesiredBody, WhiteBalance
from tests.node_agent.limits import FRAME_S, RGBW, SHOW_TIMES, bodies, body, flat, random_frame


def test_a_frame_within_the_budget_is_only_rounded() -> None:
    frame = flat(30, 0.1, 0.5, 0.9)
    limited = BudgetLimiter(body(budget_a=3.2)).limit(frame, FRAME_S)
    assert limited.codes.tolist() == [[26, 128, 230, 0]] * 30
    assert limited.scale.tolist() == [1.0]


def test_white_beyond_the_budget_is_dimmed_in_the_same_frame_to_just_below_it() -> None:
    limited = BudgetLimiter(body(150, 3.2)).limit(flat(150, 1, 1, 1), FRAME_S)
    assert limited.amps[0] <= 3.2
    assert limited.amps[0] > 3.2 * 0.98
    assert len(set(limited.codes[:, :3].ravel())) == 1


def test_without_a_budget_a_supply_stays_at_the_safe_level() -> None:
    limiter = BudgetLimiter(body(300, None))
    assert limiter.budget_a.tolist() == [SAFE_BUDGET_A]
    assert limiter.limit(flat(300, 1, 1, 1), FRAME_S).amps[0] <= SAFE_BUDGET_A


def test_a_run_without_a_feed_stays_at_the_safe_level_whatever_others_may_draw() -> None:
    fed = body(100, 50.0)
    bare = fed.channels[0].model_copy(update={"number": 2, "feeds": ()})
    limiter = BudgetLimiter(fed.model_copy(update={"channels": (*fed.channels, bare)}))
    limited = limiter.limit(flat(200, 1, 1, 1), FRAME_S)
    assert limited.codes[:100].min(axis=0).tolist() == [255, 255, 255, 0]
    assert limited.amps[1] <= SAFE_BUDGET_A
    assert limited.scale[0] == 1.0
    assert limited.scale[1] < 0.2


@pytest.mark.parametrize("budget_a", [0.0, 0.02])
def test_where_idle_alone_exceeds_the_budget_the_run_is_black_and_it_is_said(budget_a: float) -> None:
    limited = BudgetLimiter(body(30, budget_a)).limit(flat(30, 1, 1, 1), FRAME_S)
    assert not limited.codes.any()
    assert limited.idle_over_budget.tolist() == [True]
    assert limited.scale.tolist() == [0.0]
    assert limited.amps[0] == pytest.approx(30 * 0.0009)


def test_white_balance_comes_before_the_limit() -> None:
    balance = WhiteBalance(red=1.0, green=0.5, blue=0.25)
    limited = BudgetLimiter(body(10, 5.0, white_balance=balance)).limit(flat(10, 1, 1, 1), FRAME_S)
    assert limited.codes[0].tolist() == [255, 128, 64, 0]
    assert limited.scale[0] == 1.0


def test_white_is_taken_out_where_there_is_a_white_emitter() -> None:
    balance = WhiteBalance(white=0.5)
    limited = BudgetLimiter(body(10, 5.0, RGBW, balance)).limit(flat(10, 1.0, 0.6, 0.4), FRAME_S)
    assert limited.codes[0].tolist() == [153, 51, 0, 51]


def test_nodes_may_mix_pixels_with_and_without_a_white_emitter() -> None:
    mixed = body(4, 50.0)
    four = mixed.channels[0].model_copy(update={"number": 2, "pixel_type": RGBW})
    limiter = BudgetLimiter(mixed.model_copy(update={"channels": (*mixed.channels, four)}))
    for _ in range(2):
        limited = limiter.limit(flat(8, 1, 1, 1), FRAME_S)
        assert limited.codes.tolist() == [[255, 255, 255, 0]] * 4 + [[0, 0, 0, 255]] * 4


def test_values_outside_0_and_1_and_no_numbers_are_brought_into_it() -> None:
    frame = np.array([[np.nan, 2.0, -1.0], [np.inf, 0.5, -np.inf]], dtype=np.float32)
    limited = BudgetLimiter(body(2, 5.0)).limit(frame, FRAME_S)
    assert limited.codes.tolist() == [[0, 255, 0, 0], [255, 128, 0, 0]]


def test_a_frame_of_another_shape_is_refused() -> None:
    with pytest.raises(ValueError, match=r"linear: shape \(29, 3\); this node's frames have the shape \(30, 3\)"):
        BudgetLimiter(body(30)).limit(flat(29, 1, 1, 1), FRAME_S)


def test_the_scale_rises_by_a_first_order_lag_and_never_falls_under_a_steady_scene() -> None:
    limiter = BudgetLimiter(body(150, 3.2))
    low = limiter.limit(flat(150, 1, 1, 1), FRAME_S).scale[0]
    scales = [low] + [limiter.limit(flat(150, 0.2, 0.2, 0.2), FRAME_S).scale[0] for _ in range(1000)]
    assert np.diff(scales).min() >= 0
    after_one_constant = scales[round(RELEASE_S / FRAME_S)]
    assert after_one_constant == pytest.approx(1 - (1 - low) * np.exp(-1), rel=1e-6)
    assert scales[-1] > 0.9999


def test_a_frame_that_is_taken_back_leaves_no_trace() -> None:
    limiter, other = BudgetLimiter(body(150, 3.2)), BudgetLimiter(body(150, 3.2))
    bright, dark = flat(150, 1, 1, 1), flat(150, 0.1, 0.1, 0.1)
    for each in (limiter, other):
        each.limit(bright, FRAME_S)
    for thrown_away in (dark, bright):
        limiter.limit(thrown_away, FRAME_S)
        limiter.take_back()
    assert limiter.limit(dark, FRAME_S).scale.tolist() == other.limit(dark, FRAME_S).scale.tolist()


def test_a_steady_white_scene_gives_the_same_codes_in_every_frame() -> None:
    limiter = BudgetLimiter(body(150, 3.2))
    frames = [limiter.limit(flat(150, 1, 1, 1), FRAME_S).codes.tobytes() for _ in range(50)]
    assert len(set(frames)) == 1


def test_a_flash_of_white_does_not_brighten_what_follows_at_once() -> None:
    limiter = BudgetLimiter(body(150, 3.2))
    limiter.limit(flat(150, 1, 1, 1), FRAME_S)
    next_frame = limiter.limit(flat(150, 0.3, 0, 0), FRAME_S)
    assert next_frame.codes[0, 0] < 0.4 * 0.3 * 255


FRAMES = st.lists(
    st.tuples(st.integers(0, 2**32 - 1), st.sampled_from(("full", "noise", "dim", "sparse", "black"))),
    min_size=1,
    max_size=6,
)


@settings(max_examples=300)
@given(content=bodies(), frames=FRAMES, elapsed_s=st.sampled_from((0.0, 0.001, 0.02, 1.0, 1e6)), show_s=SHOW_TIMES)
def test_the_estimate_after_quantisation_never_exceeds_the_budget(
    content: DesiredBody, frames: Sequence[tuple[int, str]], elapsed_s: float, show_s: float | None
) -> None:
    limiter, power = BudgetLimiter(content), PowerModel(content)
    budgets = {budget.supply: budget.budget_a for budget in content.budgets}
    budget_a = np.array([budgets.get(supply, SAFE_BUDGET_A) for supply in power.supplies])
    pixels = sum(channel.pixels for channel in content.channels)
    period_s = frame_period_s(content)
    for number, (seed, kind) in enumerate(frames):
        at_s = None if show_s is None else show_s + number * period_s
        limited = limiter.limit(random_frame(pixels, seed, kind), elapsed_s, at_s)
        amps = power.amps(limited.codes)
        assert limited.amps.tolist() == amps.tolist()
        assert limited.idle_over_budget.tolist() == (power.idle_a() > budget_a).tolist()
        allowed = np.where(limited.idle_over_budget, power.idle_a(), budget_a)
        assert (amps <= allowed).all(), (amps, allowed)
        assert (limited.scale >= 0).all()
        assert (limited.scale <= 1).all()


@settings(max_examples=200)
@given(
    seed=st.integers(0, 2**32 - 1),
    kind=st.sampled_from(("full", "noise")),
    codes_each=st.floats(0, 4),
    show_s=SHOW_TIMES,
)
def test_a_budget_of_a_few_codes_an_emitter_is_kept_although_rounding_up_would_break_it(
    seed: int, kind: str, codes_each: float, show_s: float | None
) -> None:
    power = PowerModel(body(60))
    code_a = float(power.worst_case_a()[0] - power.idle_a()[0]) / 255
    budget_a = float(power.idle_a()[0]) + codes_each * code_a
    limited = BudgetLimiter(body(60, budget_a)).limit(random_frame(60, seed, kind), FRAME_S, show_s)
    assert limited.amps[0] <= budget_a


@settings(max_examples=200)
@given(seed=st.integers(0, 2**32 - 1), pixels=st.integers(1, 150), budget_a=st.floats(0.3, 10))
def test_hue_is_kept_within_a_code(seed: int, pixels: int, budget_a: float) -> None:
    frame = random_frame(pixels, seed, "noise")
    limited = BudgetLimiter(body(pixels, budget_a)).limit(frame, FRAME_S)
    exact = frame.astype(np.float64) * 255 * limited.scale[0]
    assert np.abs(limited.codes[:, :3] - exact).max() < 1.001


@settings(max_examples=100)
@given(
    seed=st.integers(0, 2**32 - 1),
    budget_a=st.floats(0.05, 10),
    steps_s=st.lists(st.floats(0, 3), min_size=2, max_size=30),
)
def test_under_a_steady_scene_the_scale_only_rises_and_settles(
    seed: int, budget_a: float, steps_s: list[float]
) -> None:
    limiter = BudgetLimiter(body(60, budget_a))
    limiter.limit(flat(60, 1, 1, 1), FRAME_S)
    steady = random_frame(60, seed, "noise")
    scales = [limiter.limit(steady, step_s).scale[0] for step_s in steps_s]
    assert np.diff(scales).min() >= 0
    settled = limiter.limit(steady, 1e6)
    again = limiter.limit(steady, FRAME_S)
    assert again.codes.tobytes() == settled.codes.tobytes()


@settings(max_examples=50)
@given(seed=st.integers(0, 2**32 - 1), budget_a=st.floats(1.0, 5.0))
def test_while_a_steady_scene_is_released_its_draw_does_not_pump(seed: int, budget_a: float) -> None:
    limiter = BudgetLimiter(body(100, budget_a))
    limiter.limit(flat(100, 1, 1, 1), FRAME_S)
    steady = random_frame(100, seed, "noise")
    amps = [limiter.limit(steady, FRAME_S).amps[0] for _ in range(300)]
    assert np.diff(amps).min() >= 0


def test_grant_limits_below_the_budget_never_above_it_and_nothing_is_granted_of_what_it_does_not_name() -> None:
    fed = body(100, 3.2)
    bare = fed.channels[0].model_copy(update={"number": 2, "feeds": ()})
    limiter = BudgetLimiter(fed.model_copy(update={"channels": (*fed.channels, bare)}))
    white = flat(200, 1, 1, 1)
    for granted, limit_a in (({"a": 1.6}, 1.6), ({"a": 50.0}, 3.2), ({"b": 1.0}, 0.0), ({}, 0.0)):
        limiter.grant(granted)
        limited = limiter.limit(white, 100.0)
        assert limiter.budget_a.tolist() == [limit_a, SAFE_BUDGET_A]
        assert limited.amps[0] <= max(limit_a, limiter.power.idle_a()[0])
        assert limited.codes[:100].any() == (limit_a > 0)
        assert limited.codes[100:].any(), "what hangs on no supply is nobody's to grant"
