"""Twinkle: glows decided by seed, index and period."""

import numpy as np
from numpy.typing import NDArray

from node_agent.render.patterns.twinkle import Twinkle
from tests.node_agent.render.patterns.lights import cover, straight

PERIOD_S = 2.0
PIXELS = 4000


def twinkle(share: float = 0.3, seed: int = 5) -> Twinkle:
    return Twinkle(pattern="twinkle", colour="#ffffff", share=share, period_s=PERIOD_S, seed=seed)


def over_time(pattern: Twinkle, pixels: int, seconds: float, step_s: float, start_s: float) -> NDArray[np.float32]:
    """Shape (steps, pixels)."""
    light = pattern.light(straight(pixels))
    covers = []
    for show_time_s in np.arange(start_s, start_s + seconds, step_s):
        evaluated = light.evaluate(float(show_time_s)).cover
        assert evaluated is not None
        covers.append(evaluated.copy())
    return np.array(covers)


def test_the_share_of_pixels_glows_in_each_period() -> None:
    # At any instant a pixel of the share shows sin² of a uniform phase: half of it on average.
    for share in (0.0, 0.3, 1.0):
        mean = float(np.mean([cover(twinkle(share), PIXELS, t).mean() for t in (0.0, 3.3, 1.7e9)]))
        assert abs(mean - share / 2) < 0.02


def test_every_glow_is_smooth() -> None:
    step_s = 0.01
    covers = over_time(twinkle(), 300, 10.0, step_s, 1.7e9)
    # d/dt sin²(πt/T) is at most π/T; float32 phases add a little.
    assert np.abs(np.diff(covers, axis=0)).max() <= np.pi / PERIOD_S * step_s * 1.05


def test_every_glow_lasts_one_period_and_reaches_full() -> None:
    step_s = 0.01
    covers = over_time(twinkle(0.2), 200, 20.0, step_s, 100.0)
    assert covers.max() > 0.999
    changes = np.diff(covers > 1e-4, axis=0)
    lengths_s = [
        (fall - rise) * step_s
        for pixel in np.flatnonzero(covers[0] < 1e-4)  # dark at first, so that the first change is a rise
        for rise, fall in zip(*[iter(np.flatnonzero(changes[:, pixel]))] * 2, strict=False)
    ]
    assert len(lengths_s) > 100
    # A pixel that glows in two periods running may not be seen to go dark between them.
    assert all(abs(length_s / PERIOD_S - round(length_s / PERIOD_S)) < 0.03 for length_s in lengths_s)


def test_each_pixel_has_its_own_moments() -> None:
    covers = over_time(twinkle(1.0), 500, PERIOD_S, 0.01, 50.0)
    peaks = covers.argmax(axis=0)
    assert len(np.unique(peaks)) > 150


def test_another_seed_or_period_lights_other_pixels() -> None:
    assert not np.array_equal(cover(twinkle(seed=1), 200, 7.0), cover(twinkle(seed=2), 200, 7.0))
    now, later = cover(twinkle(), PIXELS, 7.0) > 0, cover(twinkle(), PIXELS, 7.0 + PERIOD_S) > 0
    # Independent draws of 0.3 agree in 0.3² + 0.7² = 0.58 of the pixels.
    assert abs(float(np.mean(now == later)) - 0.58) < 0.04


def test_the_draw_does_not_depend_on_which_times_were_asked_before() -> None:
    light = twinkle().light(straight(100))
    for show_time_s in (9.0, 11.0, 13.0, 3.0, 1.0, 500.0):
        evaluated = light.evaluate(show_time_s).cover
        assert evaluated is not None
        np.testing.assert_array_equal(evaluated, cover(twinkle(), 100, show_time_s))
