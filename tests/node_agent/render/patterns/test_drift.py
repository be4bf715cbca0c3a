"""Drift: colours that wander over the elevation."""

import numpy as np

from node_agent.render.patterns.drift import Drift
from schemas import Stop
from tests.node_agent.render.patterns.lights import colour, straight

PIXELS = 1_000
GREY = (Stop(at=0.0, colour="#000000"), Stop(at=1.0, colour="#ffffff"))


def grey(seed: int = 0) -> Drift:
    return Drift(pattern="drift", stops=GREY, mix="linear", size_m=2.0, period_s=20.0, seed=seed)


def test_every_part_of_the_ramp_gets_its_share() -> None:
    light = grey().light(straight(PIXELS))
    shown = np.stack([light.evaluate(time_s).colour[0].copy() for time_s in np.arange(0, 320, 2.0)])
    np.testing.assert_allclose(np.histogram(shown, bins=5, range=(0, 1))[0] / shown.size, 0.2, atol=0.03)


def test_it_is_calm() -> None:
    light = grey().light(straight(PIXELS))
    shown = np.stack([light.evaluate(1.7e9 + number * 0.05).colour[0].copy() for number in range(400)])
    along, over_time = np.abs(np.diff(shown, axis=1)) / 0.1 * 2.0, np.abs(np.diff(shown, axis=0)) / 0.05 * 20.0
    assert along.mean() < 1.5  # ramps in a size
    assert along.max() < 6
    assert over_time.mean() < 3  # ramps in a period: through it, back, and half as much again
    assert over_time.max() < 12


def test_it_shows_no_colour_but_those_of_the_ramp() -> None:
    stops = (Stop(at=0.0, colour="#400000"), Stop(at=1.0, colour="#ff0000"))
    shown = colour(Drift(pattern="drift", stops=stops), PIXELS, 12.0)
    np.testing.assert_allclose(shown[:, 1:], 0, atol=1e-9)


def test_another_seed_is_another_sky() -> None:
    assert not np.array_equal(colour(grey(1), PIXELS, 3.0), colour(grey(2), PIXELS, 3.0))
