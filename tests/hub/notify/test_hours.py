"""Hours of routes by the wall clock: over midnight, over changes of the clocks, outside until they begin."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hub.notify.destination import Hours
from hub.notify.hours import last_time_of_day, told_at_ms
from hub.timetable.days import WEEKDAYS

VIENNA = ZoneInfo("Europe/Vienna")
OFFICE = Hours(weekdays=("mon", "tue", "wed", "thu", "fri"), begins="08:00", ends="18:00")
NIGHT = Hours(weekdays=("fri", "sat"), begins="20:00", ends="04:00")


def ms(text: str) -> int:
    """Of a local time of Vienna."""
    return round(datetime.fromisoformat(text).replace(tzinfo=VIENNA).timestamp() * 1_000)


@pytest.mark.parametrize(
    ("hours", "now", "told"),
    [
        (None, "2031-05-03T03:00", "2031-05-03T03:00"),
        (OFFICE, "2031-05-02T08:00", "2031-05-02T08:00"),  # a Friday
        (OFFICE, "2031-05-02T17:59:59", "2031-05-02T17:59:59"),
        (OFFICE, "2031-05-02T18:00", "2031-05-05T08:00"),  # then Monday
        (OFFICE, "2031-05-02T07:59", "2031-05-02T08:00"),
        (NIGHT, "2031-05-03T03:59", "2031-05-03T03:59"),  # still Friday's
        (NIGHT, "2031-05-04T03:59", "2031-05-04T03:59"),
        (NIGHT, "2031-05-05T03:59", "2031-05-09T20:00"),  # Sunday has none
        # The clocks go forward at 02:00 on 30 March 2031 and back at 03:00 on 26 October.
        (Hours(begins="02:30", ends="05:00"), "2031-03-30T01:59", "2031-03-30T03:30"),
        (Hours(begins="08:00", ends="18:00"), "2031-10-26T05:00", "2031-10-26T08:00"),
    ],
)
def test_told_within_the_hours_or_at_their_next_begin(hours: Hours | None, now: str, told: str) -> None:
    assert told_at_ms(hours, ms(now), VIENNA) == ms(told)


TIMES = st.times().map(lambda at: f"{at:%H:%M}")


@given(
    hours=st.builds(Hours, weekdays=st.sets(st.sampled_from(WEEKDAYS)).map(tuple), begins=TIMES, ends=TIMES),
    now_ms=st.integers(1_900_000_000_000, 1_950_000_000_000),
)
def test_waiting_always_ends_within_the_hours(hours: Hours, now_ms: int) -> None:
    at_ms = told_at_ms(hours, now_ms, VIENNA)
    assert now_ms <= at_ms <= now_ms + 8 * 86_400_000
    assert told_at_ms(hours, at_ms, VIENNA) == at_ms


@pytest.mark.parametrize(
    ("now", "day", "reached"),
    [
        ("2031-05-02T07:30", date(2031, 5, 2), "2031-05-02T07:30"),
        ("2031-05-02T07:29:59", date(2031, 5, 1), "2031-05-01T07:30"),
        ("2031-05-02T00:00", date(2031, 5, 1), "2031-05-01T07:30"),
    ],
)
def test_time_of_day_that_was_reached_last(now: str, day: date, reached: str) -> None:
    assert last_time_of_day("07:30", ms(now), VIENNA) == (day, ms(reached))
