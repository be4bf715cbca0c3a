"""Show time: the published exchange, the filter, and a clock that does not run backwards under the frame loop."""

import itertools

import pytest

from node_agent.clock import SLEW_RATE, STEP_THRESHOLD_S, ShowClock, clock_sample
from schemas import ClockExchange


class Bench:
    """A node's clocks, turned by hand, and a hub whose show time is `ahead_s` over the node's monotonic clock."""

    def __init__(self, ahead_s: float = 1_000.0) -> None:
        self.now_s = 50.0
        self.wall_s = 1_700_000_000.0
        self.ahead_s = ahead_s
        self.clock = ShowClock(lambda: self.now_s, lambda: self.wall_s + self.now_s)

    def exchange(self, to_node_s: float = 0.001, to_hub_s: float = 0.001) -> None:
        t1 = (self.now_s + self.ahead_s) * 1_000
        self.now_s += to_node_s
        t2 = self.clock.node_ms()
        self.now_s += 0.0005
        t3 = self.clock.node_ms()
        self.clock.answered(t1, t2, t3)
        self.now_s += to_hub_s
        t4 = (self.now_s + self.ahead_s) * 1_000
        self.clock.complete(ClockExchange(t1_ms=t1, t2_ms=t2, t3_ms=t3, t4_ms=t4))

    def error_s(self) -> float:
        return self.clock.show_s() - (self.now_s + self.ahead_s)


def _exchange(t1: float, t2: float, t3: float, t4: float) -> ClockExchange:
    return ClockExchange(t1_ms=t1 * 1_000, t2_ms=t2 * 1_000, t3_ms=t3 * 1_000, t4_ms=t4 * 1_000)


def test_exchange_of_four_stamps_gives_offset_and_delay_of_rfc_5905() -> None:
    """RFC 5905 §8 with stamps 100.000, 105.030, 105.032, 100.052: theta +5.005 s, delay 0.050 s (worked by hand)."""
    sample = clock_sample(_exchange(100.000, 105.030, 105.032, 100.052))
    assert sample.offset_s == pytest.approx(-5.005)
    assert sample.delay_s == pytest.approx(0.050)


def test_equal_clocks_and_an_even_path_have_no_offset() -> None:
    """RFC 5905 erratum 5020, rejected: equal clocks with 50 ms each way give theta 0."""
    assert clock_sample(_exchange(10.0, 10.050, 10.051, 10.101)).offset_s == pytest.approx(0.0)


@pytest.mark.parametrize(
    "stamps",
    [(10.0, 5.0, 4.9, 10.1), (10.0, 5.0, 5.001, 9.9), (10.0, 5.0, 5.3, 10.1), (10.0, 5.0, 5.001, 16.0)],
    ids=["answered before asked", "came back before it left", "negative delay", "took for ever"],
)
def test_impossible_exchange_is_refused(stamps: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="stamps"):
        clock_sample(_exchange(*stamps))


def test_exchange_that_this_node_did_not_answer_teaches_nothing() -> None:
    bench = Bench()
    before_s = bench.clock.show_s()
    with pytest.raises(ValueError, match="no answer of this node"):
        bench.clock.complete(_exchange(1_050.0, 50.0, 50.0, 1_050.0))
    assert bench.clock.show_s() == before_s
    assert bench.clock.offset_ms() is None


def test_show_time_is_the_wall_clock_until_the_first_exchange_and_its_jumps_do_not_matter() -> None:
    bench = Bench()
    assert bench.clock.show_s() == pytest.approx(1_700_000_050.0)
    bench.wall_s += 3_600
    assert bench.clock.show_s() == pytest.approx(1_700_000_050.0)
    assert bench.clock.dispersion_ms() is None


def test_first_exchange_steps_to_show_time_and_tells_so() -> None:
    bench = Bench()
    bench.exchange()
    assert bench.clock.steps == 1
    assert bench.error_s() == pytest.approx(0, abs=1e-6)
    assert bench.clock.dispersion_ms() == pytest.approx(1.0, abs=0.01)


def test_asymmetric_path_errs_by_no_more_than_the_dispersion() -> None:
    bench = Bench()
    bench.exchange(to_node_s=0.040, to_hub_s=0.002)
    dispersion_ms = bench.clock.dispersion_ms()
    assert dispersion_ms is not None
    assert 0 < abs(bench.error_s()) * 1_000 <= dispersion_ms


def test_sample_of_least_delay_wins_over_later_worse_ones() -> None:
    bench = Bench()
    bench.exchange()
    for _ in range(5):
        bench.exchange(to_node_s=0.200, to_hub_s=0.001)
    assert bench.error_s() == pytest.approx(0, abs=1e-4)
    assert bench.clock.steps == 1


def test_small_error_is_slewed_without_a_step_and_never_backwards() -> None:
    bench = Bench()
    bench.exchange()
    for ahead_s in (1_000.05, 999.97):
        bench.ahead_s = ahead_s
        for _ in range(8):
            bench.exchange()
        shown = []
        for _ in range(1_200):
            bench.now_s += 0.01
            shown.append(bench.clock.show_s())
        steps = [later - earlier for earlier, later in itertools.pairwise(shown)]
        assert min(steps) >= 0.01 * (1 - SLEW_RATE) - 1e-6
        assert max(steps) <= 0.01 * (1 + SLEW_RATE) + 1e-6
        assert bench.error_s() == pytest.approx(0, abs=1e-4)
    assert bench.clock.steps == 1


def test_large_error_is_stepped() -> None:
    bench = Bench()
    bench.exchange()
    bench.ahead_s -= STEP_THRESHOLD_S * 2
    for _ in range(8):
        bench.exchange()
    assert bench.clock.steps == 2
    assert bench.error_s() == pytest.approx(0, abs=1e-4)
