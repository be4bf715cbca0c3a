"""Percentiles out of bins, against numpy's out of the samples themselves."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from hub.load.histogram import BIN_SHARE, BINS, Seconds, bin_of, percentile_a

RATED_A = 10.0
BIN_A = RATED_A * BIN_SHARE


def histogram(
    amps: NDArray[np.float64], weights: NDArray[np.float64] | None = None, rated_a: float = RATED_A
) -> Seconds:
    seconds: Seconds = np.bincount(bin_of(amps, np.full_like(amps, rated_a)), weights, BINS + 1).astype(np.float64)
    return seconds


def test_bins_are_half_a_percent_of_the_rating_and_the_last_holds_all_above() -> None:
    amps = np.array([0.0, 0.0499, 0.0501, 12.4999, 12.5, 1e6])
    assert bin_of(amps, np.full(6, RATED_A)).tolist() == [0, 0, 1, 249, 250, 250]


def test_without_time_there_is_no_percentile() -> None:
    assert percentile_a([], 0.95, 1.0) is None
    assert percentile_a([(RATED_A, np.zeros(BINS + 1))], 0.95, 1.0) is None


def test_steady_load_is_its_own_percentile() -> None:
    told = percentile_a([(RATED_A, histogram(np.full(100, 3.21)))], 0.95, 3.21)
    assert told == pytest.approx(3.21, abs=BIN_A)
    assert told is not None
    assert told <= 3.21


loads = st.lists(st.floats(0, 1.24 * RATED_A), min_size=1, max_size=300).map(np.array)


@given(loads, st.sampled_from([0.5, 0.95, 0.99]), st.data())
def test_percentile_is_numpys_within_one_bin(amps: NDArray[np.float64], share: float, data: st.DataObject) -> None:
    weights = np.array(data.draw(st.lists(st.floats(0.5, 1.5), min_size=amps.size, max_size=amps.size)))
    true_a = np.quantile(amps, share, weights=weights, method="inverted_cdf")
    told = percentile_a([(RATED_A, histogram(amps, weights))], share, float(amps.max()))
    assert told == pytest.approx(true_a, abs=BIN_A * (1 + 1e-6))


@pytest.mark.parametrize("seed", range(5))
def test_a_months_random_load_at_two_ratings(seed: int) -> None:
    random = np.random.default_rng(seed)
    before, after = random.gamma(2.0, 1.0, 200_000).clip(0, 12), random.normal(6.0, 2.0, 300_000).clip(0, 19)
    true_a = np.quantile(np.concatenate([before, after]), 0.95, method="inverted_cdf")
    parts = [(10.0, histogram(before)), (16.0, histogram(after, rated_a=16.0))]
    told = percentile_a(parts, 0.95, 19.0)
    assert told == pytest.approx(true_a, abs=16.0 * BIN_SHARE)


def test_load_far_over_the_rating_lies_between_125_percent_and_the_highest() -> None:
    told = percentile_a([(RATED_A, histogram(np.full(10, 40.0)))], 0.95, 40.0)
    assert told is not None
    assert 12.5 <= told <= 40.0
