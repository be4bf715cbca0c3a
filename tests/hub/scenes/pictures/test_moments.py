import numpy as np
import pytest

from hub.scenes.period import Window
from hub.scenes.pictures.moments import light_through, moments_of, spread, window_on
from tests.hub.scenes.pictures.scenes import WAVE, lit


@pytest.mark.parametrize(("length_s", "tick_ms"), [(2.0, 10), (3.7, 10), (3.7, 1), (7 / 3, 10), (9.999, 1)])
def test_frames_fill_the_period_and_the_last_is_one_step_before_the_first(length_s: float, tick_ms: int) -> None:
    moments = moments_of(Window(length_s, whole=True), 20.0, tick_ms, 10.0)
    assert moments.seamless
    assert moments.instants_s[0] == 0.0
    assert moments.instants_s[-1] + moments.step_s == pytest.approx(length_s, abs=1e-12)
    assert abs(sum(moments.shown_ms) - length_s * 1_000) <= tick_ms
    assert all(shown % tick_ms == 0 for shown in moments.shown_ms)
    assert max(moments.shown_ms) - min(moments.shown_ms) <= tick_ms


def test_period_shorter_than_a_second_is_shown_several_times_over() -> None:
    moments = moments_of(Window(0.3, whole=True), 25.0, 10, 10.0)
    assert moments.seamless
    assert sum(moments.shown_ms) == 1_200
    assert len(moments.instants_s) == 30


@pytest.mark.parametrize("window", [Window(60.0, whole=True), Window(600.0, whole=False)])
def test_of_what_is_longer_the_beginning_is_shown(window: Window) -> None:
    moments = moments_of(window, 20.0, 10, 10.0)
    assert not moments.seamless
    assert (len(moments.instants_s), sum(moments.shown_ms)) == (200, 10_000)


def test_what_stands_still_is_one_moment() -> None:
    moments = moments_of(Window(0.0, whole=True), 20.0, 10, 10.0)
    assert (moments.instants_s, moments.seamless) == ((0.0,), True)


def test_instants_of_a_long_window_meet_short_periods_at_different_phases() -> None:
    instants = spread(Window(600.0, whole=True), 8)
    assert list(instants) == sorted(instants)
    assert instants[-1] < 600.0
    assert len({round(at_s % 25.0, 1) for at_s in instants}) == 8
    assert spread(Window(8.0, whole=True), 8) == tuple(range(8))


def test_loop_of_a_limited_scene_begins_as_it_ends() -> None:
    # The whole front swells to full white, far over the budget, and fades; the limiter takes seconds to let go.
    lights, scene = lit(WAVE | {"wavelength_m": 200.0, "speed_m_per_s": 100.0}, nodes=1, pixels=75)
    moments = moments_of(window_on(lights, scene), 20.0, 10, 10.0)
    first = [light.copy() for light in light_through(lights, scene, moments)]
    again = [
        lights.light(lights.limit(lights.linear_of(scene, at_s), moments.step_s).codes) for at_s in moments.instants_s
    ]
    np.testing.assert_allclose(first, again, atol=1.5 / 255)
    unlimited = lights.linear_of(scene, moments.instants_s[0]).max()
    assert first[0].max() < 0.6 * unlimited
