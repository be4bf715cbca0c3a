"""Show time against RFC 5905 (NTP version 4), and the filter's line against numpy's regression."""

import numpy as np
import pytest

from node_agent.clock import STEP_THRESHOLD_S, clock_sample
from node_agent.clock.filter import ClockFilter
from node_agent.clock.fit import FREQUENCY_TOLERANCE, LARGEST_DRIFT, RESOLUTION_S, WANDER, fit_line
from node_agent.clock.sample import ClockSample
from schemas import ClockExchange


def exchange(t1: float, t2: float, t3: float, t4: float) -> ClockExchange:
    """Stamps in seconds."""
    return ClockExchange(t1_ms=t1 * 1_000, t2_ms=t2 * 1_000, t3_ms=t3 * 1_000, t4_ms=t4 * 1_000)


@pytest.mark.parametrize(
    ("stamps", "theta_s", "delay_s"),
    [
        ((100.000, 105.030, 105.032, 100.052), 5.005, 0.050),
        ((10.000, 10.050, 10.051, 10.101), 0.0, 0.100),
        ((100.000, 10.030, 10.032, 100.052), -89.995, 0.050),
        ((1.0, 1.0, 1.0, 1.0), 0.0, 0.0),
    ],
    ids=["worked by hand", "erratum 5020, rejected: equal clocks, 50 ms each way", "90 s behind", "no delay"],
)
def test_offset_and_delay_of_four_stamps(stamps: tuple[float, ...], theta_s: float, delay_s: float) -> None:
    """RFC 5905 §8: theta = ((T2 - T1) + (T3 - T4)) / 2, delta = (T4 - T1) - (T3 - T2). Show time is ahead by -theta."""
    sample = clock_sample(exchange(*stamps))
    assert sample.offset_s == pytest.approx(-theta_s)
    assert sample.delay_s == pytest.approx(delay_s)


@pytest.mark.parametrize(
    "stamps",
    [(10.0, 5.0, 4.9, 10.1), (10.0, 5.0, 5.001, 9.9), (10.0, 5.0, 5.3, 10.1), (10.0, 5.0, 5.001, 16.0)],
    ids=["answered before asked", "came back before it left", "negative delay", "took for ever"],
)
def test_impossible_exchange_is_refused(stamps: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="stamps"):
        clock_sample(exchange(*stamps))


@pytest.mark.parametrize("share", [0.0, 0.25, 0.5, 0.9, 1.0])
def test_asymmetry_errs_by_half_the_delay_at_most(share: float) -> None:
    """RFC 5905 §8 and RFC 1305 appendix H (from memory): the true offset lies within half the delay of the measured."""
    delay_s, true_s = 0.080, 3.0
    there_s = share * delay_s
    sample = clock_sample(exchange(0.0, there_s - true_s, there_s - true_s, delay_s))
    assert abs(sample.offset_s - true_s) <= delay_s / 2 + 1e-9
    assert sample.offset_s - true_s == pytest.approx(delay_s * (0.5 - share))


def test_parameters_are_those_of_the_published_reference_implementation() -> None:
    """RFC 5905 §7.2 figure 6 (PHI) and appendix A (STEPT, MAXFREQ), the last two from memory."""
    assert FREQUENCY_TOLERANCE == 15e-6
    assert STEP_THRESHOLD_S == 0.128
    assert LARGEST_DRIFT == 500e-6


def test_dispersion_grows_by_phi_while_nothing_is_heard() -> None:
    """RFC 5905 §11.2 (from memory): the distance is delta / 2 + epsilon, and epsilon grows by PHI a second: in 1,000 s
    by 15 ms. What is not known of the drift comes on top."""
    filtered = ClockFilter()
    for number in range(60):
        filtered.add(ClockSample(100.0, 0.020, 10.0 * number))
    fit = filtered.fit
    assert fit is not None
    now_s = 10.0 * 59
    grown_s = fit.error_at(now_s + 1_000) - fit.error_at(now_s)
    assert fit.error_at(now_s) == pytest.approx(0.010, abs=0.0005)
    assert 0.015 <= grown_s <= 0.015 + 2 * fit.drift_error * 1_000 * 2


def test_line_is_that_of_weighted_least_squares() -> None:
    """Two parallel lines, one for each way, by numpy.linalg.lstsq and numpy.linalg.inv (covariance), passed three times
    with the weights that the slope before gives; nothing known of the drift beforehand."""
    chance = np.random.default_rng(5)
    at_s = np.cumsum(chance.uniform(0.5, 40.0, 40))
    down_s, up_s = 0.005 + chance.exponential(0.01, (2, 40))
    delay_s = down_s + up_s
    offset_s = 7.0 + 120e-6 * at_s + (up_s - down_s) / 2
    samples = [ClockSample(*one) for one in zip(offset_s.tolist(), delay_s.tolist(), at_s.tolist(), strict=True)]
    fit = fit_line(samples, 0.0, drift_error=1.0)

    sides = np.array([[-1.0], [1.0]])
    bounds_s = offset_s + sides * delay_s / 2
    design = np.array([[way == 0, way == 1, one_s] for way in (0, 1) for one_s in at_s], dtype=np.float64)
    slope = 0.0
    for _ in range(3):
        late_s = sides * (bounds_s - slope * at_s)
        ordered_s = np.sort(late_s, axis=1)
        grain_s = RESOLUTION_S + (ordered_s[:, 2:3] - ordered_s[:, :1]) / 4
        waited_s = np.minimum(grain_s + late_s - ordered_s[:, :1], RESOLUTION_S + delay_s)
        weighed = (1 / (waited_s + WANDER * (at_s[-1] - at_s))).ravel()
        (below_s, above_s, slope), *_ = np.linalg.lstsq(design * weighed[:, None], bounds_s.ravel() * weighed)
    covariance = np.linalg.inv((design * weighed[:, None] ** 2).T @ design)

    assert fit.drift == pytest.approx(slope, rel=1e-6)
    assert fit.drift_error == pytest.approx(np.sqrt(covariance[2, 2]), rel=1e-6)
    assert fit.half_delay_s == pytest.approx((above_s - below_s) / 2, rel=1e-6)
    for now_s in (0.0, 300.0, 2_000.0):
        assert fit.offset_at(now_s) == pytest.approx((below_s + above_s) / 2 + slope * now_s, abs=1e-9)
    assert fit.drift == pytest.approx(120e-6, abs=3 * fit.drift_error)


def test_truth_lies_between_the_least_delays_of_both_ways() -> None:
    """The least delay of each way may be of another exchange. Here each waits 40 ms on one way or the other, so each
    by itself is wrong by 20 ms, and together they are exact. Worked by hand."""
    down_s, up_s = (0.045, 0.005), (0.005, 0.045)
    samples = [
        ClockSample(9.0 + (up_s[k % 2] - down_s[k % 2]) / 2, down_s[k % 2] + up_s[k % 2], 0.1 * k) for k in range(8)
    ]
    assert all(abs(sample.offset_s - 9.0) == pytest.approx(0.020) for sample in samples)
    assert fit_line(samples, 0.0, 200e-6).offset_at(0.7) == pytest.approx(9.0, abs=1e-4)
