"""Ember: coals that glow up and die down."""

import numpy as np
from numpy.typing import NDArray

from node_agent.render.patterns.ember import Ember
from schemas import Stop
from tests.node_agent.render.patterns.lights import straight

PIXELS = 2_000
GREY = (Stop(at=0.0, colour="#000000"), Stop(at=1.0, colour="#ffffff"))


def heights(pattern: Ember, *times_s: float) -> NDArray[np.float32]:
    """Of a ramp from dark to light in linear light, shape (times, pixels)."""
    light = pattern.light(straight(PIXELS))
    return np.stack([light.evaluate(time_s).colour[0].copy() for time_s in times_s])


def grey(seed: int = 0) -> Ember:
    return Ember(pattern="ember", stops=GREY, mix="linear", size_m=0.2, period_s=4.0, seed=seed)


def test_coals_lie_low_and_few_glow() -> None:
    shown = heights(grey(), *np.arange(0, 64, 1.7))
    assert np.median(shown) < 0.1
    assert 0.05 < (shown > 2 / 3).mean() < 0.15
    assert shown.max() > 0.98


def test_each_coal_has_its_own_moments() -> None:
    shown = heights(grey(), *np.arange(0, 64, 0.5))
    highest = shown.argmax(axis=0)[::10]
    assert len(np.unique(highest)) > 60
    totals = shown.mean(axis=1)
    assert totals.std() < 0.1 * totals.mean()  # there is no common beat


def test_some_places_are_coals_and_others_cold() -> None:
    means = heights(grey(), *np.arange(0, 64, 0.5)).mean(axis=0)
    assert means.max() > 10 * means.min()


def test_by_default_it_glows_as_coals_do_red_before_yellow() -> None:
    light = Ember(pattern="ember", size_m=0.2).light(straight(PIXELS))
    red, green, blue = np.concatenate([light.evaluate(time_s).colour.copy() for time_s in range(60)], axis=1)
    assert (red >= green).all()
    assert (green >= blue).all()
    bright, dim = red > 0.9, red < 0.02
    assert (green[bright] / red[bright]).min() > 3 * (green[dim] / red[dim]).max()


def test_another_seed_is_another_fire() -> None:
    assert not np.array_equal(heights(grey(seed=1), 3.0), heights(grey(seed=2), 3.0))
