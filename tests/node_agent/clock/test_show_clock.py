"""Show time: learnt from exchanges, steered without running backwards, and not misled by a wall clock."""

import itertools

import pytest

from node_agent.clock import SLEW_RATE, STEP_THRESHOLD_S, KeptClock
from node_agent.clock.filter import SUSPECTS_BELIEVED
from node_agent.clock.fit import FREQUENCY_TOLERANCE
from node_agent.clock.show_clock import BURST_EXCHANGES, HUB_GONE_S
from schemas import ClockExchange
from tests.node_agent.clock.clocks import Clocks


def test_exchange_that_this_node_did_not_answer_teaches_nothing() -> None:
    clocks = Clocks()
    before_s = clocks.clock.show_s()
    with pytest.raises(ValueError, match="no answer of this node"):
        clocks.clock.complete(ClockExchange(t1_ms=1_050_000, t2_ms=50_000, t3_ms=50_000, t4_ms=1_050_000))
    assert clocks.clock.show_s() == before_s
    assert clocks.clock.offset_ms() is None


@pytest.mark.parametrize("disciplined", [False, True])
def test_show_time_is_the_wall_clock_until_the_first_exchange_and_its_jumps_do_not_matter(disciplined: bool) -> None:
    clocks = Clocks(disciplined=disciplined)
    assert clocks.clock.source == ("disciplined" if disciplined else "wall")
    assert clocks.clock.show_s() == pytest.approx(1_700_000_050.0)
    clocks.wall_ahead_s -= 3_600
    clocks.disciplined = False  # the kernel takes its word back when somebody sets the clock
    clocks.clock.look_at_wall()
    assert clocks.clock.show_s() == pytest.approx(1_700_000_050.0)
    assert clocks.clock.dispersion_ms() is None


def test_first_exchange_steps_to_show_time_and_tells_so() -> None:
    clocks = Clocks()
    clocks.exchange()
    assert (clocks.clock.steps, clocks.clock.source) == (1, "hub")
    assert clocks.error_s() == pytest.approx(0, abs=1e-6)
    # Half the delay, and the grain of the stamps.
    assert clocks.dispersion_s() == pytest.approx(0.00107, abs=1e-5)


def test_asymmetric_path_errs_by_no_more_than_the_dispersion() -> None:
    clocks = Clocks()
    clocks.exchange(to_node_s=0.040, to_hub_s=0.002)
    assert 0 < abs(clocks.error_s()) <= clocks.dispersion_s()


def test_bad_first_sample_is_put_right_by_a_step_within_the_burst() -> None:
    clocks = Clocks()
    clocks.exchange(to_node_s=0.151)
    assert clocks.error_s() == pytest.approx(-0.075, abs=1e-3)
    clocks.exchange()
    assert clocks.clock.steps == 2
    assert clocks.error_s() == pytest.approx(0, abs=2e-3)


def test_sample_of_least_delay_wins_over_later_worse_ones() -> None:
    clocks = Clocks()
    for _ in range(BURST_EXCHANGES):
        clocks.exchange()
    for _ in range(5):
        clocks.exchange(to_node_s=0.200, to_hub_s=0.001)
    # Each of the five is wrong by 0.1 s.
    assert abs(clocks.error_s()) < min(0.005, clocks.dispersion_s())
    assert clocks.clock.steps == 1


def test_small_error_is_slewed_without_a_step_and_never_backwards() -> None:
    clocks = Clocks()
    for _ in range(BURST_EXCHANGES):
        clocks.exchange()
    for ahead_s in (1_000.05, 999.97):
        clocks.ahead_s = ahead_s
        for _ in range(8):
            clocks.exchange()
        shown = []
        for _ in range(1_200):
            clocks.wait(0.01)
            shown.append(clocks.clock.show_s())
        steps = [later - earlier for earlier, later in itertools.pairwise(shown)]
        assert min(steps) >= 0.01 * (1 - SLEW_RATE) - 1e-6
        assert max(steps) <= 0.01 * (1 + SLEW_RATE) + 1e-6
        assert clocks.error_s() == pytest.approx(0, abs=1e-4)
    assert clocks.clock.steps == 1


def test_dispersion_tells_how_much_is_still_to_be_slewed() -> None:
    clocks = Clocks()
    for _ in range(BURST_EXCHANGES):
        clocks.exchange()
    clocks.ahead_s += 0.05
    for _ in range(SUSPECTS_BELIEVED):
        clocks.exchange()
    assert clocks.error_s() == pytest.approx(-0.05, abs=1e-3)
    assert clocks.dispersion_s() >= abs(clocks.error_s())


def test_hubs_clock_that_jumped_is_followed_by_a_step_once_it_is_beyond_doubt() -> None:
    clocks = Clocks()
    for _ in range(8):
        clocks.exchange()
    clocks.ahead_s -= STEP_THRESHOLD_S * 2
    for _ in range(SUSPECTS_BELIEVED - 1):
        clocks.exchange()
        assert clocks.clock.steps == 1
    clocks.exchange()
    assert clocks.clock.steps == 2
    assert clocks.error_s() == pytest.approx(0, abs=1e-4)


def test_measured_drift_carries_show_time_through_two_days_without_the_hub() -> None:
    clocks = Clocks(drift=200e-6)
    for _ in range(40):
        clocks.exchange()
        clocks.wait(30.0)
    assert clocks.clock.drift_ppm() == pytest.approx(200.0, abs=1.0)
    clocks.wait(2 * 86_400)
    assert abs(clocks.error_s()) < 0.1, "34 s without the drift"
    assert clocks.dispersion_s() > FREQUENCY_TOLERANCE * 2 * 86_400, "and says that nobody can be sure of it"


def test_wall_clock_that_starts_in_1970_is_not_believed_against_what_was_known() -> None:
    clocks = Clocks()
    clocks.wall_ahead_s = 0.0
    clocks.restarted()
    clocks.clock.restore(KeptClock(show_time_ms=1_700_000_000_000, drift_ppm=100.0))
    assert clocks.clock.source == "kept"
    clocks.wait(1_000.0)
    assert clocks.clock.show_s() == pytest.approx(1_700_001_000.1, abs=1e-3), "last known plus uptime, drift put right"
    assert clocks.clock.kept() == KeptClock(show_time_ms=1_700_001_000_100, drift_ppm=100.0)


def test_wall_clock_ahead_of_what_was_known_may_be_right_but_is_not_kept() -> None:
    """A clock that came up in 2099 would otherwise be held against every right one that follows."""
    clocks = Clocks()
    clocks.clock.restore(KeptClock(show_time_ms=1_600_000_000_000))
    assert clocks.clock.source == "wall"
    assert clocks.clock.show_s() == pytest.approx(clocks.wall_s())
    assert clocks.clock.kept() is None


def test_disciplined_wall_clock_is_believed_even_behind_what_was_known() -> None:
    clocks = Clocks(disciplined=True)
    clocks.clock.restore(KeptClock(show_time_ms=1_800_000_000_000))
    assert clocks.clock.source == "disciplined"
    assert clocks.clock.show_s() == pytest.approx(clocks.wall_s())
    assert clocks.clock.kept() is not None


def test_clock_that_is_set_right_by_the_network_counts_before_the_hub_is_there() -> None:
    clocks = Clocks()
    clocks.wall_ahead_s = 0.0
    clocks.restarted()
    clocks.clock.restore(KeptClock(show_time_ms=1_600_000_000_000))
    clocks.wall_ahead_s, clocks.disciplined = 1_700_000_000.0, True
    clocks.clock.look_at_wall()
    assert (clocks.clock.source, clocks.clock.steps) == ("disciplined", 2)
    assert clocks.clock.show_s() == pytest.approx(clocks.wall_s())


def test_while_the_hub_is_heard_nothing_that_the_wall_clock_does_matters() -> None:
    clocks = Clocks(disciplined=True)
    clocks.exchange()
    for leap_s in (-1_700_000_000.0, 3_600.0, -0.5):
        clocks.wall_ahead_s += leap_s
        clocks.clock.look_at_wall()
        clocks.exchange()
        assert clocks.error_s() == pytest.approx(0, abs=1e-6)
    assert (clocks.clock.source, clocks.clock.steps) == ("hub", 1)


def test_disciplined_wall_clock_carries_show_time_on_when_the_hub_is_gone_as_the_hubs_not_as_its_own() -> None:
    clocks = Clocks(ahead_s=1_700_000_300.0, disciplined=True)
    for _ in range(8):
        clocks.exchange()
    clocks.clock.look_at_wall()
    steps = clocks.clock.steps
    for _ in range(200):
        clocks.wait(HUB_GONE_S)
        clocks.ahead_s += 0.01  # a crystal that drifts as it never did before, and the wall clock does not
        clocks.wall_ahead_s += 0.01
        clocks.clock.look_at_wall()
    assert (clocks.clock.source, clocks.clock.steps) == ("disciplined", steps)
    assert clocks.error_s() == pytest.approx(0, abs=0.02)
    clocks.exchange()
    assert clocks.clock.source == "hub"


def test_undisciplined_wall_clock_carries_nothing_on() -> None:
    clocks = Clocks()
    clocks.exchange()
    clocks.clock.look_at_wall()
    clocks.disciplined = True  # of what lay between it and the hub nothing is known
    clocks.wait(2 * HUB_GONE_S)
    clocks.clock.look_at_wall()
    assert clocks.clock.source == "hub"
    assert clocks.error_s() == pytest.approx(0, abs=1e-3)
