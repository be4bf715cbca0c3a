"""Telemetry that came and that was lost, over the last ten minutes."""

from hypothesis import given
from hypothesis import strategies as st

from hub.fleet.arrivals import STEP_S, WINDOW_S, Arrivals, Arrived


def test_nothing_came_and_nothing_was_lost() -> None:
    assert Arrivals().recent(1_000.0) == Arrived(0, 0)


@given(st.lists(st.tuples(st.floats(0.0, 200.0), st.integers(0, 255)), max_size=60))
def test_window_holds_the_last_ten_minutes_give_or_take_a_step(words: list[tuple[float, int]]) -> None:
    arrivals, now_s = Arrivals(), 1_000.0
    heard: list[tuple[float, int]] = []
    for wait_s, lost in words:
        now_s += wait_s
        arrivals.add(now_s, lost)
        heard.append((now_s, lost))
    counted = arrivals.recent(now_s)
    surely = [lost for at_s, lost in heard if at_s > now_s - WINDOW_S + STEP_S]
    perhaps = [lost for at_s, lost in heard if at_s > now_s - WINDOW_S - STEP_S]
    assert len(surely) <= counted.received <= len(perhaps)
    assert sum(surely) <= counted.lost <= sum(perhaps)


def test_clock_that_is_set_back_begins_the_window_anew() -> None:
    arrivals = Arrivals()
    arrivals.add(10_000.0, 5)
    arrivals.add(1_000.0, 1)
    assert arrivals.recent(1_000.0) == Arrived(1, 1)
