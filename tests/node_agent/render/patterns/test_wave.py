"""Wave: a travelling sine between two colours."""

import numpy as np

from node_agent.render import linear_rgb
from node_agent.render.patterns.wave import Wave
from tests.node_agent.render.patterns.lights import colour


def wave(speed_m_per_s: float) -> Wave:
    return Wave(
        pattern="wave", crest="#ffffff", trough="#000000", mix="linear", wavelength_m=4.0, speed_m_per_s=speed_m_per_s
    )


def test_light_is_the_sine_of_place_and_time_in_linear_light() -> None:
    s_m = (np.arange(80) + 0.5) * 0.1
    for show_time_s in (0.0, 0.37, 91.2):
        expected = 0.5 + 0.5 * np.sin(2 * np.pi * (s_m - 1.5 * show_time_s) / 4.0)
        np.testing.assert_allclose(colour(wave(1.5), 80, show_time_s)[:, 0], expected, atol=2e-4)


def test_a_negative_speed_runs_backwards() -> None:
    np.testing.assert_allclose(colour(wave(-1.0), 80, 0.1)[:-1], colour(wave(-1.0), 80, 0.0)[1:], atol=3e-4)


def test_it_swings_between_its_two_colours() -> None:
    pattern = Wave(pattern="wave", crest="#ff8040", trough="#102030", wavelength_m=4.0, speed_m_per_s=0.0)
    shown = colour(pattern, 40, 0.0)
    np.testing.assert_allclose(shown.max(axis=0)[0], linear_rgb("#ff8040")[0], atol=5e-3)
    np.testing.assert_allclose(shown.min(axis=0)[0], linear_rgb("#102030")[0], atol=5e-3)
