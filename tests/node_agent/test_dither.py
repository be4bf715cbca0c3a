"""Thresholds of dithering: every emitter gets each once in L frames, evenly along a run, the same wherever asked."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from node_agent.dither import MOST_LEVELS, PATTERN_HZ, Dither, NodeFrames, frame_number, levels_of

START_S = 1_800_000_000.0
LEVELS = (2, 4, 8, 16)


def period_s(levels: int) -> float:
    """Of the slowest frames that dither with so many levels."""
    return 1 / (PATTERN_HZ * levels)


def frames(dither: Dither, of_s: float, count: int, start_s: float = START_S) -> NDArray[np.float32]:
    return np.array([dither.thresholds(start_s + number * of_s).copy() for number in range(count)])


@pytest.mark.parametrize(
    ("rate_hz", "levels"), [(1, 1), (25, 1), (49, 1), (50, 2), (64, 2), (100, 4), (110.5, 4), (399, 8), (400, 16)]
)
def test_pattern_repeats_at_least_25_times_a_second(rate_hz: float, levels: int) -> None:
    assert levels_of(1 / rate_hz) == levels


@given(st.floats(1e-5, 10))
def test_levels_are_bounded_whatever_the_period(of_s: float) -> None:
    levels = levels_of(of_s)
    assert levels in (1, *LEVELS)
    assert levels == 1 or rate_holds(of_s, levels)
    assert levels == MOST_LEVELS or not rate_holds(of_s, levels * 2 * (1 + 1e-6))


def rate_holds(of_s: float, levels: float) -> bool:
    return 1 / (of_s * levels) >= PATTERN_HZ * (1 - 1e-6)


@pytest.mark.parametrize("levels", LEVELS)
def test_every_emitter_gets_each_threshold_once_in_l_frames(levels: int) -> None:
    shown = frames(Dither((NodeFrames(50, period_s(levels)),), 4), period_s(levels), levels)
    every = (np.arange(levels) + 0.5) / levels
    assert (np.sort(shown, axis=0) == every.astype(np.float32)[:, None, None]).all()
    assert shown.min() > 0
    assert shown.max() < 1


@pytest.mark.parametrize("levels", LEVELS)
def test_any_l_neighbours_share_the_thresholds_of_a_frame_so_that_the_draw_of_an_even_colour_stands(
    levels: int,
) -> None:
    shown = frames(Dither((NodeFrames(64, period_s(levels)),), 3), period_s(levels), levels)
    every = (np.arange(levels) + 0.5) / levels
    for first in range(64 - levels):
        assert (np.sort(shown[:, :, first : first + levels], axis=2) == every.astype(np.float32)).all()


@pytest.mark.parametrize("levels", LEVELS)
def test_colours_of_a_pixel_do_not_step_together(levels: int) -> None:
    red, green, blue = frames(Dither((NodeFrames(8, period_s(levels)),), 3), period_s(levels), levels)[0]
    assert (red != green).all()
    assert (green != blue).all()


@pytest.mark.parametrize("levels", [8, 16])
def test_pattern_does_not_creep_along_the_run(levels: int) -> None:
    """The one emitter in L that is lit at 1/L of a code must not move on by the same step frame after frame."""
    shown = frames(Dither((NodeFrames(levels, period_s(levels)),), 3), period_s(levels), levels)[:, 0]
    lit_at = shown.argmax(axis=1)
    steps = np.diff(np.append(lit_at, lit_at[0])) % levels
    assert np.bincount(steps).max() <= levels / 2


@settings(max_examples=200)
@given(
    rate_hz=st.integers(50, 400),
    take_ms=st.integers(0, 4_102_444_800_000),
    frame=st.integers(0, 10_000_000),
)
def test_frames_on_the_grid_of_a_take_are_counted_one_by_one(rate_hz: int, take_ms: int, frame: int) -> None:
    """Takes are at whole milliseconds up to the year 2100; deadlines are rounded to what a float holds there."""
    of_s, take_s = 1 / rate_hz, take_ms / 1_000
    levels = levels_of(of_s)
    counted = [frame_number(take_s + (frame + number) * of_s, of_s, levels) for number in range(2 * levels)]
    assert [(later - earlier) % levels for earlier, later in itertools.pairwise(counted)] == [1 % levels] * (
        2 * levels - 1
    )


@given(show_s=st.floats(-1e9, 1e10), of_s=st.floats(1e-4, 1.0))
def test_frame_number_is_one_of_l_at_any_show_time(show_s: float, of_s: float) -> None:
    assert 0 <= frame_number(show_s, of_s, levels_of(of_s)) < levels_of(of_s)


def test_joined_nodes_have_each_what_it_has_alone() -> None:
    nodes = [NodeFrames(30, 1 / 400), NodeFrames(0, 1.0), NodeFrames(7, 1 / 25), NodeFrames(90, 0.00905)]
    joined = Dither(nodes, 4)
    for show_s in (0.0, 12.34, START_S, math.nextafter(START_S, 0)):
        alone = [Dither((node,), 4).thresholds(show_s) for node in nodes]
        assert joined.thresholds(show_s).tolist() == np.concatenate(alone, axis=1).tolist()


def test_slow_frames_are_rounded() -> None:
    slow = Dither((NodeFrames(5, 0.04),), 3)
    assert slow.plain
    assert (slow.thresholds(START_S) == 0.5).all()
    assert not Dither((NodeFrames(5, 0.04), NodeFrames(5, 0.01)), 3).plain
