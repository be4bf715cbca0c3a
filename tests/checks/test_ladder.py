"""A run's volts against closed forms of the resistive ladder.

Uniform loads and continuous limits: sums of Ohm's law, derived beside each test. Worked figures 4.98, 4.62 and 4.49 V:
computed with ngspice 39. Resistive load: the telegrapher's equation without inductance and capacitance, whose open end
stands at V0 / cosh(length × √(r·g)).
"""

import math

import numpy as np
import pytest
from scipy.linalg import solveh_banded

from hub.electrical.network import FeedWire, Ladder, Source, feed_drop_v, feed_heat_w, heat_w_per_m, solve_network

ONE = [Source(5.0)]


def test_50_pixels_of_20_ma_on_20_milliohm_steps() -> None:
    run = Ladder(np.full(50, 0.020), 0.020, (FeedWire(0, 0, 0.020),))
    volts = solve_network(ONE, [run]).ladders[0].volts
    assert volts[[0, 24, 49]] == pytest.approx([4.98, 4.62, 4.49], abs=0.005)


@pytest.mark.parametrize("count", [1, 2, 50, 4096])
def test_uniform_load_fed_at_one_end(count: int) -> None:
    """V_k = V0 - R·I·(k·N - k(k - 1)/2): step j of k carries what the N - j + 1 pixels from j on draw."""
    ohm, amps = 0.020 / count, 0.020
    run = Ladder(np.full(count, amps), ohm, (FeedWire(0, 0, ohm),))
    k = np.arange(1, count + 1)
    expected = 5.0 - ohm * amps * (k * count - k * (k - 1) / 2)
    solution = solve_network(ONE, [run]).ladders[0]
    assert solution.volts == pytest.approx(expected, rel=1e-12)
    assert np.allclose(solution.step_a, amps * (count - k[:-1]), rtol=0, atol=1e-9)
    assert solution.feed_a == pytest.approx([count * amps])


@pytest.mark.parametrize("count", [3, 51, 1001])
def test_uniform_load_fed_at_both_ends_is_lowest_in_the_middle(count: int) -> None:
    """By symmetry each side carries half of the middle pixel. With N = 2m + 1 step j = 1..m from the end carries
    I·(m - j + 1/2), so V0 - V_mid = R·I·m²/2."""
    ohm, amps, half = 0.001, 0.002, count // 2
    feeds = (FeedWire(0, 0, 1e-7), FeedWire(0, count - 1, 1e-7))
    solution = solve_network(ONE, [Ladder(np.full(count, amps), ohm, feeds)]).ladders[0]
    assert solution.volts.min() == solution.volts[half]
    assert solution.volts[half] == pytest.approx(5.0 - ohm * amps * half**2 / 2, abs=2e-7)
    assert solution.feed_a == pytest.approx([count * amps / 2] * 2)


def test_fine_steps_come_to_half_the_loops_ohms_times_the_current() -> None:
    """Continuous limit, one end: R·I/2."""
    drop = 5.0 - _fine(feeds=("near",)).min()
    assert drop == pytest.approx(0.5 * 2.0 / 2, rel=1e-3)


def test_fine_steps_fed_at_both_ends_come_to_an_eighth() -> None:
    """Continuous limit, middle: R·I/8."""
    drop = 5.0 - _fine(feeds=("near", "far")).min()
    assert drop == pytest.approx(0.5 * 2.0 / 8, rel=1e-3)


def _fine(feeds: tuple[str, ...], pixels: int = 4096) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Volts of 0.5 Ω and 2 A in all, spread over many pixels."""
    at = {"near": 0, "far": pixels - 1}
    wires = tuple(FeedWire(0, at[end], 1e-7) for end in feeds)
    volts = solve_network(ONE, [Ladder(np.full(pixels, 2.0 / pixels), 0.5 / pixels, wires)]).ladders[0].volts
    return volts.reshape(pixels)


def test_resistive_load_sinks_as_the_hyperbolic_cosine() -> None:
    """V(L)/V0 = 1/cosh(√(r·g)·L) = 0.793278 with r 0.1, g 0.2, L 5.

    A pixel below its lowest volts draws in proportion to its volts (the solver's law), so a run that is low everywhere
    is such a line: I/U siemens at each pixel.
    """
    steps, r, g, length_m = 4000, 0.1, 0.2, 5.0
    loads = np.full(steps, g * length_m / (steps - 1))
    loads[[0, -1]] /= 2
    # Lowest volts of 10 V, which 5 V never reach: I = 10 V × the siemens above.
    run = Ladder(10.0 * loads, r * length_m / (steps - 1), (FeedWire(0, 0, 1e-7),), (), 10.0, current_falls=True)
    solution = solve_network(ONE, [run]).ladders[0]
    assert 1 / math.cosh(math.sqrt(r * g) * length_m) == pytest.approx(0.793278, abs=5e-7)
    assert solution.volts[-1] / 5.0 == pytest.approx(0.793278, abs=2e-6)
    assert solution.below_minimum.all()


def test_heat_of_a_run_is_what_its_copper_takes_from_the_supply() -> None:
    """Power given = power of the loads + power in the feed's wires + heat of the run's copper."""
    run = Ladder(np.full(60, 0.05), 0.1 / 60, (FeedWire(0, 10, 0.08), FeedWire(0, 59, 0.2)), (30,))
    whole = solve_network(ONE, [run])
    solution = whole.ladders[0]
    heat = heat_w_per_m(solution, run, pixels_per_m=60.0)
    assert heat.shape == (59,)
    assert not np.allclose(solution.feed_a, solution.feed_return_a)
    wires_w = float(feed_heat_w(solution, run).sum())
    assert heat.sum() / 60 + wires_w + solution.volts @ solution.load_a == pytest.approx(5.0 * whole.source_a[0])
    assert solution.volts[[10, 59]] == pytest.approx(5.0 - feed_drop_v(solution, run))


def test_heat_of_a_metre_that_carries_10_amps_over_a_tenth_of_an_ohm_is_10_watts() -> None:
    load_a = np.zeros(61)
    load_a[60] = 10.0
    run = Ladder(load_a, 0.1 / 60, (FeedWire(0, 0, 0.01),))
    heat = heat_w_per_m(solve_network([Source(24.0)], [run]).ladders[0], run, pixels_per_m=60.0)
    assert heat == pytest.approx(10.0**2 * 0.1)


def test_the_banded_routine_gives_the_closed_form_of_the_resistive_ladder_itself() -> None:
    """scipy's routine, apart from the solver: conductance matrix of the cosh line, from its difference equation.

    With siemens s = g·L/N and ohms q = r·L/N the volts are V0·cosh((N - k + ½)θ)/cosh((N + ½)θ), cosh θ = 1 + q·s/2.
    """
    steps, ohm, siemens = 100, 0.005, 0.01
    diagonal = np.full(steps, 2 / ohm + siemens)
    diagonal[-1] -= 1 / ohm
    bands = np.vstack((diagonal, np.full(steps, -1 / ohm)))
    right = np.zeros(steps)
    right[0] = 5.0 / ohm
    theta = math.acosh(1 + ohm * siemens / 2)
    k = np.arange(1, steps + 1)
    expected = 5.0 * np.cosh((steps - k + 0.5) * theta) / math.cosh((steps + 0.5) * theta)
    assert solveh_banded(bands, right, lower=True) == pytest.approx(expected, rel=1e-12)
