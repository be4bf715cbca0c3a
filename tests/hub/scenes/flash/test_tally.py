"""Places that flash by turns, areas that move, and what slowing down does."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from hub.scenes.flash.thresholds import Test
from tests.hub.scenes.flash.fronts import Light, failing, front, patch, watched

SQUARE = patch()
LEFT = SQUARE[:, 0] < 0.5


def _on_off(lit: NDArray[np.bool_]) -> Light:
    return np.repeat(lit[:, None], 3, axis=1).astype(np.float32)


def test_halves_that_flash_alternately_count_together() -> None:
    """Each half flashes twice a second, so a field sees four flashes; at 1.5 a second it sees three."""

    def halves(rate_hz: float) -> set[Test]:
        return failing(watched(front(), lambda at_s: _on_off(LEFT if at_s * rate_hz % 1.0 < 0.5 else ~LEFT)))

    assert halves(2.0) == {Test.GENERAL_WCAG, Test.GENERAL_BT1702}
    assert halves(1.5) == set()


def test_pixels_that_flash_often_each_at_its_own_time_add_up() -> None:
    phases = np.random.default_rng(0).uniform(size=len(SQUARE))
    worst = watched(front(), lambda at_s: _on_off((at_s * 5.0 + phases) % 1.0 < 0.5))
    assert Test.GENERAL_WCAG in failing(worst)


def test_one_lit_front_passing_by_is_one_flash() -> None:
    """A stretch of light runs over the field twice a second: fast, but only two flashes."""
    worst = watched(front(), lambda at_s: _on_off(np.abs(SQUARE[:, 0] - at_s * 2 % 1.0 * 3) < 0.3))
    assert failing(worst) == set()


def test_chase_that_passes_each_place_four_times_a_second_fails_and_three_times_passes() -> None:
    dense_m = patch(pitch_m=0.05)
    before = front(dense_m, reach_m=0.05)

    def chase(rate_hz: float, spacing_m: float) -> set[Test]:
        places = dense_m[:, 0] / spacing_m
        return failing(watched(before, lambda at_s: _on_off((places - at_s * rate_hz) % 1.0 < 0.3)))

    for spacing_m in (0.4, 1.0, 2.0, 9.0):
        assert Test.GENERAL_WCAG in chase(3.3, spacing_m)
        assert chase(3.0, spacing_m) == set()


def test_a_few_pixels_may_flash_as_they_like() -> None:
    worst = watched(front(reach_m=0.05), lambda at_s: _on_off((SQUARE.max(axis=1) < 0.3) & (at_s * 9 % 1.0 < 0.5)))
    assert failing(worst) == set()


def test_a_burst_of_four_flashes_fails_and_of_three_passes() -> None:
    def burst(flashes: int) -> set[Test]:
        lit = np.ones(len(SQUARE), dtype=np.bool_)
        return failing(
            watched(front(), lambda at_s: _on_off(lit & (1 < at_s < 1 + flashes * 0.2) & (at_s % 0.2 < 0.1)))
        )

    assert burst(4) != set()
    assert burst(3) == set()


def test_what_is_told_of_the_worst() -> None:
    worst = watched(front(), lambda at_s: _on_off(LEFT & (at_s > 1.0) & (at_s * 8 % 1.0 < 0.5)))[Test.GENERAL_WCAG]
    assert worst.a_second == 8
    assert worst.first_s is not None
    assert 0.95 <= worst.first_s <= 1.05
    assert abs(worst.shortest_s - 3 / 8) < 0.03
    assert worst.pixels is not None
    assert LEFT[worst.pixels].all()
    assert 0.006 < worst.area_sr <= 0.5 / 25 * 1.5


@settings(max_examples=25)
@given(
    marks_s=st.lists(st.floats(0.05, 0.6), min_size=2, max_size=12),
    groups=st.integers(1, 3),
    factor=st.floats(0.2, 0.97),
)
def test_slowing_down_never_makes_a_passing_scene_fail(marks_s: list[float], groups: int, factor: float) -> None:
    """Groups of pixels that switch, each at its own irregular marks; slowed, the same takes longer."""
    ends_s = np.cumsum(marks_s)
    group = (SQUARE[:, 0] * groups).astype(int)

    def light(show_s: float) -> Light:
        switched = np.searchsorted(ends_s, (show_s + 0.13 * np.arange(groups)) % ends_s[-1], side="right")
        return _on_off(switched[group] % 2 == 1)

    if not failing(watched(front(), light)):
        slower = watched(front(), lambda at_s: light(at_s * factor), until_s=4.0 / factor)
        assert not failing(slower)
