"""Chase: lit stretches that travel."""

import numpy as np

from node_agent.render.patterns.chase import Chase
from tests.node_agent.render.patterns.lights import cover


def chase(speed_m_per_s: float, tail_m: float = 0.0) -> Chase:
    return Chase(
        pattern="chase",
        colour="#ffffff",
        length_m=0.3,
        spacing_m=1.0,
        tail_m=tail_m,
        speed_m_per_s=speed_m_per_s,
    )


def lit(pattern: Chase, show_time_s: float) -> list[int]:
    return np.flatnonzero(cover(pattern, 20, show_time_s)).tolist()


def test_one_stretch_of_the_length_is_lit_in_every_spacing() -> None:
    assert lit(chase(0.5), 0.0) == [0, 1, 2, 10, 11, 12]


def test_stretches_travel_at_the_speed() -> None:
    assert lit(chase(0.5), 0.4) == [2, 3, 4, 12, 13, 14]
    assert lit(chase(0.5), 2.4) == [2, 3, 4, 12, 13, 14]  # a spacing later the picture is the same


def test_a_negative_speed_runs_backwards() -> None:
    assert lit(chase(-0.5), 0.4) == [0, 8, 9, 10, 18, 19]


def test_the_tail_fades_behind_the_stretch() -> None:
    covers = cover(chase(0.5, tail_m=0.4), 10, 1.2)  # the stretch is at 0.6 to 0.9 m
    np.testing.assert_allclose(covers, [0, 0, 0.125, 0.375, 0.625, 0.875, 1, 1, 1, 0], atol=1e-5)


def test_the_tail_of_a_backward_stretch_is_on_its_other_side() -> None:
    covers = cover(chase(-0.5, tail_m=0.4), 10, 2.0)  # a whole spacing: the stretch is at 0 to 0.3 m
    np.testing.assert_allclose(covers, [1, 1, 1, 0.875, 0.625, 0.375, 0.125, 0, 0, 0], atol=1e-5)


def test_show_times_of_today_are_as_sharp_as_those_near_zero() -> None:
    covers = cover(chase(0.5, tail_m=0.4), 10, 1.8e9 + 1.2)  # 1.8e9 s are whole spacings
    np.testing.assert_allclose(covers, cover(chase(0.5, tail_m=0.4), 10, 1.2), atol=1e-5)
