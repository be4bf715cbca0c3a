"""Gradient: colours between stops, measured against the zone."""

import numpy as np

from node_agent.render import Along, linear_rgb
from node_agent.render.patterns.gradient import Gradient
from schemas import Stop
from tests.node_agent.render.patterns.lights import colour


def gradient(*stops: tuple[float, str], along: Along = "s") -> Gradient:
    return Gradient(
        pattern="gradient", along=along, mix="linear", stops=tuple(Stop(at=at, colour=hue) for at, hue in stops)
    )


def test_colours_are_mixed_in_linear_light_and_not_in_srgb() -> None:
    shown = colour(gradient((0.0, "#000000"), (1.0, "#ffffff")), 10, 0.0)
    np.testing.assert_allclose(shown[:, 0], (np.arange(10) + 0.5) / 10, atol=1e-6)


def test_beyond_the_outer_stops_their_colours_go_on() -> None:
    shown = colour(gradient((0.4, "#ff0000"), (0.6, "#0000ff")), 10, 0.0)
    assert shown[:4].tolist() == [[1.0, 0.0, 0.0]] * 4
    assert shown[6:].tolist() == [[0.0, 0.0, 1.0]] * 4


def test_a_zone_without_length_along_an_axis_shows_its_beginning() -> None:
    shown = colour(gradient((0.0, "#804020"), (1.0, "#ffffff"), along="y"), 3, 0.0)
    np.testing.assert_array_equal(shown, np.tile(linear_rgb("#804020"), (3, 1)))
