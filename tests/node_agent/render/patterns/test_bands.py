"""Bands: stripes side by side."""

from fractions import Fraction

import numpy as np
import pytest
from numpy.typing import NDArray
from pydantic import ValidationError

from node_agent.render import linear_rgb
from node_agent.render.oklab import oklab_of_linear
from node_agent.render.patterns.bands import Bands
from tests.node_agent.render.patterns.lights import colour, straight

RED, GREEN, BLUE = [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]


def bands(speed_m_per_s: float = 0.0, soft_m: float = 0.0) -> Bands:
    return Bands(
        pattern="bands",
        colours=("#ff0000", "#00ff00", "#0000ff"),
        mix="linear",
        width_m=0.4,
        soft_m=soft_m,
        speed_m_per_s=speed_m_per_s,
    )


def shown(pattern: Bands, show_time_s: float) -> list[list[float]]:
    pixels: list[list[float]] = colour(pattern, 14, show_time_s).tolist()
    return pixels


def test_stripes_follow_one_another_in_turn() -> None:
    assert shown(bands(), 0.0) == [RED] * 4 + [GREEN] * 4 + [BLUE] * 4 + [RED] * 2


def test_they_travel_at_the_speed_and_backwards() -> None:
    assert shown(bands(0.5), 0.2) == [BLUE] + [RED] * 4 + [GREEN] * 4 + [BLUE] * 4 + [RED]
    assert shown(bands(-0.5), 0.2) == [RED] * 3 + [GREEN] * 4 + [BLUE] * 4 + [RED] * 3


def test_a_round_of_all_colours_is_the_period() -> None:
    pattern = bands(-0.5)
    assert pattern.repeats_after_s(straight(5).extent) == Fraction("2.4")
    assert bands(0.0).repeats_after_s(straight(5).extent) is None
    np.testing.assert_allclose(shown(pattern, 0.2), shown(pattern, 2.4 * 750_000_000 + 0.2))


def test_edges_run_into_one_another_over_their_length() -> None:
    def red(pattern: Bands) -> NDArray[np.float32]:
        return colour(pattern, 12, 0.0)[:, 0]

    # The edge between red and green lies at 0.4 m, that between blue and red at 0 m and 1.2 m.
    np.testing.assert_allclose(
        red(bands(soft_m=0.4)), [0.625, 0.875, 0.875, 0.625, 0.375, 0.125, 0, 0, 0, 0, 0.125, 0.375], atol=2e-3
    )
    np.testing.assert_allclose(red(bands(soft_m=0.2)), [0.75, 1, 1, 0.75, 0.25, 0, 0, 0, 0, 0, 0, 0.25], atol=2e-3)


def test_an_edge_may_be_even_to_the_eye() -> None:
    pattern = Bands(pattern="bands", colours=("#402010", "#80c0ff"), width_m=1.0, soft_m=1.0)
    lab = oklab_of_linear(colour(pattern, 15, 0.0)[5:15])
    np.testing.assert_allclose(np.diff(lab, axis=0), np.tile(np.diff(lab, axis=0)[0], (9, 1)), atol=1e-3)


def test_sixteen_colours_each_get_their_stripe() -> None:
    hues = tuple(f"#{16 * number:02x}40{255 - 16 * number:02x}" for number in range(16))
    pattern = Bands(pattern="bands", colours=hues, width_m=0.1)
    np.testing.assert_allclose(colour(pattern, 32, 0.0), [linear_rgb(hue) for hue in hues * 2], atol=1e-6)


def test_edges_softer_than_a_stripe_is_wide_are_refused() -> None:
    with pytest.raises(ValidationError, match="soft_m must not exceed width_m"):
        bands(soft_m=0.41)
