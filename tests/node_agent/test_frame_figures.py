"""What a board says that it drew and wanted: counted frame by frame, on a clock of the test's own."""

import numpy as np
import pytest

from node_agent.frame_figures import FrameFigures
from node_agent.limiter import LimitedFrame


class Clock:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def frame(amps: float, wanted_a: float) -> LimitedFrame:
    return LimitedFrame(
        codes=np.zeros((1, 4), dtype=np.uint8),
        amps=np.array([amps]),
        scale=np.array([1.0]),
        wanted_a=np.array([wanted_a]),
        idle_over_budget=np.array([False]),
    )


def test_a_frame_draws_its_amps_until_the_next_one() -> None:
    clock = Clock()
    figures = FrameFigures(clock)
    figures.shown(("psu",), frame(2.0, 2.0), 0)
    clock.now_s += 1_800
    figures.shown(("psu",), frame(3.0, 3.0), 0)
    assert figures.interval().supplies[0].charge_ah == pytest.approx(1.0)
    clock.now_s += 3_600
    figures.shown(("psu",), frame(0.0, 0.0), 0)
    assert figures.interval().supplies[0].charge_ah == pytest.approx(4.0)


def test_charge_of_a_supply_goes_on_counting_over_other_wiring() -> None:
    clock = Clock()
    figures = FrameFigures(clock)
    figures.shown(("psu",), frame(2.0, 2.0), 0)
    clock.now_s += 3_600
    figures.shown(("other",), frame(1.0, 1.0), 0)
    clock.now_s += 3_600
    figures.shown(("psu",), frame(2.0, 2.0), 0)
    assert figures.interval().supplies[0].charge_ah == pytest.approx(2.0)


def test_wanted_is_the_highest_of_the_interval_and_begins_anew() -> None:
    figures = FrameFigures(Clock())
    figures.shown(("psu",), frame(1.0, 5.0), 0)
    figures.shown(("psu",), frame(1.0, 2.0), 0)
    assert figures.interval().supplies[0].wanted_a == 5.0
    figures.shown(("psu",), frame(1.0, 2.5), 0)
    assert figures.interval().supplies[0].wanted_a == 2.5
