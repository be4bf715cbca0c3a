"""Noise: smooth chance over the elevation and over time."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from node_agent.render.patterns.chance import PERIODS
from node_agent.render.patterns.noise import Noise, share_below
from node_agent.render.placement import Placement
from schemas import Extent

PERIOD_S = 8.0


def area(columns: int, rows: int, pitch_m: float, x_m: float = 0.0, y_m: float = 0.0) -> Placement:
    """Pixels in rows from the lower left corner."""
    x, y = (part.ravel() for part in np.meshgrid(x_m + np.arange(columns) * pitch_m, y_m + np.arange(rows) * pitch_m))
    index = np.arange(x.size)
    extent = Extent(
        length_m=columns * pitch_m,
        pixels=x.size,
        x_min_m=x_m,
        x_max_m=float(x.max()),
        y_min_m=y_m,
        y_max_m=float(y.max()),
    )
    return Placement(x, y, index * pitch_m, index, index, extent)


def values(noise: Noise, pixels: int, *times_s: float) -> NDArray[np.float32]:
    """Shape (times, pixels)."""
    out = np.empty((len(times_s), pixels), dtype=np.float32)
    for number, time_s in enumerate(times_s):
        noise.at(time_s, out[number])
    return out


@pytest.mark.parametrize("still", [0.0, 0.4])
def test_every_tenth_of_the_distribution_is_met_as_often(still: float) -> None:
    # Far apart in place and time, so that the draws are independent: 4,000 places at 16 times, 1,000 apiece at least.
    noise = Noise(area(80, 50, 7.3), 1.0, PERIOD_S, 5, still)
    shares = share_below(values(noise, 4_000, *np.arange(PERIODS) * (PERIOD_S + 0.41)).ravel().astype(np.float64))
    np.testing.assert_allclose(np.histogram(shares, bins=10, range=(0, 1))[0] / shares.size, 0.1, atol=0.012)


def test_neither_the_lattice_nor_its_beat_is_seen_in_the_spread() -> None:
    noise = Noise(area(4_000, 1, 0.75, y_m=0.13), 1.0, PERIOD_S, 1)  # half a size is a step of the lattice
    steps = values(noise, 4_000, *np.arange(64) * PERIOD_S / 4)
    between = values(noise, 4_000, *(np.arange(64) + 0.5) * PERIOD_S / 4)
    assert float(steps.std()) == pytest.approx(float(between.std()), rel=0.02)
    on_points, off_points = steps[:, 0::2], steps[:, 1::2]
    assert float(on_points.std()) == pytest.approx(float(off_points.std()), rel=0.02)


def test_it_is_smooth_in_place_and_time() -> None:
    noise = Noise(area(2_000, 1, 0.005), 1.0, PERIOD_S, 2)
    shown = values(noise, 2_000, *np.arange(1.7e9, 1.7e9 + 20, 0.01))
    # A standard deviation is a seventh; a swing of many of them takes a size or a quarter of a period at least.
    assert np.abs(np.diff(shown, axis=1)).max() < 0.005 * 2
    assert np.abs(np.diff(shown, axis=0)).max() < 0.01 / (PERIOD_S / 4) * 1.2


def test_a_size_is_about_a_patch_and_a_period_about_a_swing() -> None:
    noise = Noise(area(40_000, 1, 0.05), 1.0, PERIOD_S, 3)
    (along,) = values(noise, 40_000, 3.3)
    patches = np.count_nonzero(np.diff(along > 0.5))
    assert 2_000 / patches == pytest.approx(1.0, abs=0.3)  # metres from one change of side to the next
    over_time = values(noise, 40_000, *np.arange(0, PERIODS * PERIOD_S, 0.5))[:, ::80] > 0.5
    swings = np.count_nonzero(~over_time[:-1] & over_time[1:]) / over_time.shape[1]
    assert PERIODS / swings == pytest.approx(1.0, abs=0.3)


def test_zones_that_meet_share_the_chances_of_the_place() -> None:
    whole = values(Noise(area(60, 1, 0.1, x_m=-2.0), 0.7, PERIOD_S, 9), 60, 12.3)
    right = values(Noise(area(40, 1, 0.1, x_m=0.0), 0.7, PERIOD_S, 9), 40, 12.3)
    np.testing.assert_allclose(whole[:, 20:], right, atol=1e-5)


def test_another_seed_is_another_chance() -> None:
    one, two = (values(Noise(area(500, 1, 5.0), 1.0, PERIOD_S, seed), 500, 1.0)[0] for seed in (1, 2))
    assert abs(float(np.corrcoef(one, two)[0, 1])) < 0.15


def test_what_is_still_does_not_move() -> None:
    noise = Noise(area(500, 1, 5.0), 1.0, PERIOD_S, 1, still=1.0)
    shown = values(noise, 500, 0.0, 13.3, 1e9)
    assert (shown == shown[0]).all()
    assert float(shown.std()) == pytest.approx(1 / 7, rel=0.1)


def test_the_share_below_is_that_of_the_normal_distribution() -> None:
    """0.8413 and 0.9772 at one and two standard deviations: any table of the normal distribution."""
    np.testing.assert_allclose(
        share_below(np.array([0.5, 0.5 + 1 / 7, 0.5 + 2 / 7, 0.5 - 1 / 7])), [0.5, 0.8413, 0.9772, 0.1587], atol=5e-5
    )
    assert math.isclose(share_below(np.array([1.0]))[0], 0.99977, abs_tol=1e-5)
