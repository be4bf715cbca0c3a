import itertools

import numpy as np
import pytest

from hub.scenes import sample_scene
from hub.scenes.course import MOST_POINTS, MOST_STRETCHES, _stretches
from node_agent.limiter import RELEASE_S
from tests.hub.scenes.pictures.scenes import WAVE, lit, wash

SWELL = WAVE | {"wavelength_m": 1_000.0, "speed_m_per_s": 100.0}
"""The whole front at once, from dark to full white and back in 10 s."""


def test_course_asks_what_the_scene_draws_at_each_time() -> None:
    lights, scene = lit(SWELL, nodes=1, pixels=75)
    peaks = sample_scene(lights, scene.id)
    (course,) = peaks.course.values()
    assert len(course.asked_a) == MOST_POINTS
    assert peaks.step_s == pytest.approx(10 / MOST_POINTS)
    # 150 pixels draw 60 mA each at full white; the wave falls as it rose, to darkness half a period on.
    assert course.asked_a.max() == pytest.approx(9.0, abs=0.05)
    from_crest = np.roll(course.asked_a, -int(course.asked_a.argmax()))
    np.testing.assert_allclose(from_crest[1:], from_crest[:0:-1], atol=0.6)
    assert from_crest[MOST_POINTS // 2] == pytest.approx(course.asked_a.min(), abs=0.01)


def test_limiter_acts_from_the_rise_and_lets_go_by_its_own_lag() -> None:
    lights, scene = lit(SWELL, nodes=1, pixels=75)
    peaks = sample_scene(lights, scene.id)
    (course,) = peaks.course.values()
    assert course.let_through_a.max() <= 3.2
    assert min(stretch.lowest_scale for stretch in course.stretches) == pytest.approx(0.35, abs=0.02)
    # Over the budget and rising the budget is let through; falling, the scale has not yet risen again.
    over = course.asked_a > 3.3
    rising = np.roll(course.asked_a, -1) > course.asked_a
    assert course.let_through_a[over & rising].min() > 3.1
    assert course.let_through_a[over & ~rising].min() < 2.0
    acting_s = sum(stretch.end_s - stretch.start_s for stretch in course.stretches)
    assert acting_s > over.sum() * peaks.step_s + RELEASE_S


def test_course_of_a_loop_is_that_of_the_scene_once_it_has_run_for_a_while() -> None:
    lights, scene = lit(SWELL, nodes=1, pixels=75)
    peaks = sample_scene(lights, scene.id)
    (course,) = peaks.course.values()
    step_s = peaks.step_s / 5
    scales = [
        float(lights.limit(lights.linear_of(scene, number * step_s), step_s).scale[0])
        for number in range(5 * MOST_POINTS * 3)
    ][-5 * MOST_POINTS :]
    acting = np.array(scales) < 0.995
    told = np.zeros(len(scales), dtype=bool)
    for stretch in course.stretches:
        told[round(stretch.start_s / step_s) : round(stretch.end_s / step_s)] = True
    assert (told != acting).sum() <= 2
    assert min(scales) == pytest.approx(min(one.lowest_scale for one in course.stretches), abs=1e-3)


def test_within_its_budget_a_scene_is_let_through_as_it_asks() -> None:
    lights, scene = lit(WAVE | {"crest": "#202020"})
    for course in sample_scene(lights, scene.id).course.values():
        np.testing.assert_array_equal(course.asked_a, course.let_through_a)
        assert course.stretches == ()


def test_still_scene_is_one_point_and_limited_for_good() -> None:
    lights, scene = lit(wash("#ffffff"), nodes=1, pixels=75)
    peaks = sample_scene(lights, scene.id)
    (course,) = peaks.course.values()
    assert (peaks.step_s, course.asked_a.tolist(), len(course.stretches)) == (0.0, [9.0], 1)


def test_stretches_are_bounded_by_joining_those_nearest_to_each_other() -> None:
    scales = np.ones(500)
    scales[::10] = 0.5
    scales[3] = 0.25
    stretches = list(_stretches(scales, 0.1))
    assert len(stretches) == MOST_STRETCHES
    assert stretches[0].lowest_scale == 0.25
    assert stretches[0].start_s == 0.0
    assert stretches[-1].end_s == pytest.approx(49.1)
    assert all(earlier.end_s < later.start_s for earlier, later in itertools.pairwise(stretches))


def test_samples_are_looked_at_once_where_nothing_is_limited() -> None:
    lights, scene = lit(WAVE | {"crest": "#202020"})
    rendered: list[float] = []
    render = lights.linear

    def counted(scene_id: str | None, show_s: float) -> object:
        rendered.append(show_s)
        return render(scene_id, show_s)

    lights.linear = counted  # type: ignore[method-assign, assignment]
    peaks = sample_scene(lights, scene.id)
    assert len(rendered) == peaks.samples + 1
