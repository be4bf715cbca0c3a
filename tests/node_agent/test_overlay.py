"""Overlays: what they paint, and that none of them flashes faster than three times a second (WCAG 2.2, 2.3.1)."""

from typing import get_args

import numpy as np
import pytest

from node_agent.overlay import Identify, Overlay, Walk
from node_agent.still_patterns import StillPattern
from schemas.ask import TestPattern

SLICES = {1: slice(0, 9), 2: slice(9, 14)}


def _painted(overlay: Overlay, elapsed_s: float) -> np.ndarray:
    frame = np.full((14, 3), 0.25, dtype=np.float32)
    overlay.paint(frame, SLICES, elapsed_s)
    return frame


def test_walk_lights_one_pixel_of_its_channel_and_leaves_the_others() -> None:
    frame = _painted(Walk(60, 2, 4.0), 0.6)
    assert np.flatnonzero(frame[9:].any(axis=1)).tolist() == [2]
    assert frame[:9] == pytest.approx(np.full((9, 3), 0.25))


def test_thirds_show_the_order_of_colours_and_the_data_end() -> None:
    frame = _painted(StillPattern(60, 1, "thirds"), 3.0)[:9]
    assert frame.tolist() == [[1, 1, 1], *[[1, 0, 0]] * 2, *[[0, 1, 0]] * 3, *[[0, 0, 1]] * 3]


def _run(pattern: TestPattern, pixels: int) -> list[list[float]]:
    frame = np.full((pixels, 3), 0.25, dtype=np.float32)
    StillPattern(60, 1, pattern).paint(frame, {1: slice(0, pixels)}, 1.0)
    return frame.tolist()


def test_first_pixel_alone_is_white() -> None:
    assert _run("first-pixel", 4) == [[1, 1, 1], *[[0, 0, 0]] * 3]


def test_every_tenth_pixel_can_be_counted() -> None:
    lit = [index for index, pixel in enumerate(_run("every-tenth", 31)) if pixel == [1, 1, 1]]
    assert lit == [0, 10, 20, 30]


def test_ramp_rises_from_dark_at_the_data_end_to_half_light() -> None:
    assert _run("ramp", 6) == [[pytest.approx(level)] * 3 for level in (0, 0.1, 0.2, 0.3, 0.4, 0.5)]


def test_bars_are_ten_equal_ones_that_begin_and_end_in_white() -> None:
    run = _run("bars", 40)
    bars = run[::4]
    assert run == [bar for bar in bars for _ in range(4)]
    assert bars[0] == bars[9] == [1, 1, 1]
    assert bars[1:5] == [[1, 0, 0], [0, 1, 0], [0, 0, 1], [0, 0, 0]]
    assert [(np.array(single) + pair).tolist() for single, pair in zip(bars[1:4], bars[5:8], strict=True)] == [
        [1, 1, 1]
    ] * 3


def test_overlay_on_a_channel_that_is_gone_paints_nothing() -> None:
    for overlay in (Walk(60, 4, 4.0), StillPattern(60, 4, "bars")):
        assert (_painted(overlay, 1.0) == 0.25).all()


@pytest.mark.parametrize("pixels", [1, 2, 3, 7, 40])
@pytest.mark.parametrize("rate", [0.5, 20.0])
def test_no_pixel_flashes_more_than_three_times_in_a_second(pixels: int, rate: float) -> None:
    overlays: list[Overlay] = [Identify(60), Walk(60, 1, rate)]
    overlays += [StillPattern(60, 1, pattern) for pattern in get_args(TestPattern)]
    for overlay in overlays:
        frames = []
        for number in range(400):
            frame = np.zeros((pixels, 3), dtype=np.float32)
            overlay.paint(frame, {1: slice(0, pixels)}, number / 100)
            frames.append(frame.mean(axis=1))
        rising = np.diff(np.array(frames), axis=0) >= 0.1
        for start in range(0, 300, 10):
            assert rising[start : start + 99].sum(axis=0).max() <= 3


def test_identify_breathes_slowly_and_smoothly_between_dim_and_bright() -> None:
    levels = np.array([_painted(Identify(20), number / 50)[0, 0] for number in range(500)])
    assert levels.max() > 0.35
    assert levels.min() < 0.05
    assert np.abs(np.diff(levels)).max() < 0.02
    crossings = np.count_nonzero(np.diff(levels > levels.mean()))
    assert crossings / 2 / 10 <= 0.5
