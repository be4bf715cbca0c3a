"""Pulse: the whole zone swells between two colours."""

import numpy as np
import pytest
from pydantic import ValidationError

from node_agent.render import linear_rgb
from node_agent.render.patterns.pulse import Pulse
from tests.node_agent.render.patterns.lights import colour, straight


def pulse(rise_s: float = 2.0, hold_s: float = 1.0, fall_s: float = 4.0, rest_s: float = 3.0) -> Pulse:
    return Pulse(
        pattern="pulse", high="#ffffff", mix="linear", rise_s=rise_s, hold_s=hold_s, fall_s=fall_s, rest_s=rest_s
    )


def level(pattern: Pulse, show_time_s: float) -> float:
    shown = colour(pattern, 5, show_time_s)
    assert (shown == shown[0, 0]).all()
    return float(shown[0, 0])


@pytest.mark.parametrize(
    ("show_time_s", "expected"),
    [
        (0.0, 0.0),
        (0.5, 0.15625),  # smoothstep of a quarter: 3/16 - 2/64
        (1.0, 0.5),
        (1.5, 0.84375),
        (2.0, 1.0),
        (2.9, 1.0),
        (4.0, 0.84375),
        (5.0, 0.5),
        (7.0, 0.0),
        (9.9, 0.0),
        (11.0, 0.5),
        (10.0 * 180_000_000 + 5.0, 0.5),
        (-5.0, 0.5),
    ],
)
def test_it_rises_holds_falls_and_rests(show_time_s: float, expected: float) -> None:
    assert level(pulse(), show_time_s) == pytest.approx(expected, abs=2e-4)


def test_it_turns_gently() -> None:
    step_s = 0.01
    light = pulse(hold_s=0.0, rest_s=0.0).light(straight(1))
    levels = np.array([light.evaluate(number * step_s).colour[0, 0] for number in range(1300)])
    # The steepest of smoothstep is 1.5 of the mean; it changes its rate by no more than 6 / rise² (table of 4,096).
    assert np.abs(np.diff(levels)).max() <= 1.5 / 2.0 * step_s + 3e-4
    assert np.abs(np.diff(levels[::10], n=2)).max() <= 6 / 2.0**2 * 0.1**2 + 1e-3


def test_a_rise_and_fall_of_nothing_switch() -> None:
    switched = pulse(rise_s=0.0, fall_s=0.0)
    assert [level(switched, show_time_s) for show_time_s in (0.0, 0.999, 1.0, 3.999, 4.0)] == [1, 1, 0, 0, 1]


def test_colours_are_those_that_were_asked_for() -> None:
    shown = Pulse(pattern="pulse", low="#102030", high="#ff8040")
    np.testing.assert_allclose(colour(shown, 1, 0.0)[0], linear_rgb("#102030"), atol=1e-6)
    np.testing.assert_allclose(colour(shown, 1, 2.2)[0], linear_rgb("#ff8040"), atol=1e-6)


def test_a_pulse_that_takes_no_time_is_refused() -> None:
    with pytest.raises(ValidationError, match=r"rise_s \+ hold_s \+ fall_s \+ rest_s must be 0\.1 or more"):
        pulse(rise_s=0.03, hold_s=0.03, fall_s=0.03, rest_s=0.0)
    assert pulse(rise_s=0.1, hold_s=0.0, fall_s=0.0, rest_s=0.0).period_s * 10 == 1
