"""Days of the account begin and end at midnight UTC."""

from datetime import UTC, date, datetime

import pytest

from hub.energy.days import day_before, day_of, shares_by_day

MIDNIGHT_S = datetime(2031, 5, 2, tzinfo=UTC).timestamp()


def test_day_begins_at_midnight() -> None:
    assert (day_of(MIDNIGHT_S - 0.001), day_of(MIDNIGHT_S)) == ("2031-05-01", "2031-05-02")


def test_time_within_a_day_is_all_of_that_day() -> None:
    assert list(shares_by_day(MIDNIGHT_S + 10, 10)) == [("2031-05-02", 1.0)]
    assert list(shares_by_day(MIDNIGHT_S, 0)) == [("2031-05-02", 1.0)]


def test_time_up_to_midnight_is_of_the_day_before() -> None:
    assert list(shares_by_day(MIDNIGHT_S, 10)) == [("2031-05-01", 1.0)]


def test_time_over_midnights_is_shared_by_its_length() -> None:
    assert list(shares_by_day(MIDNIGHT_S + 6, 10)) == [("2031-05-01", 0.4), ("2031-05-02", 0.6)]
    shares = dict(shares_by_day(MIDNIGHT_S + 86_400 + 10, 86_400 + 30))
    assert list(shares) == ["2031-05-01", "2031-05-02", "2031-05-03"]
    assert sum(shares.values()) == pytest.approx(1)


def test_days_before_end_with_the_calendar() -> None:
    assert day_before(date(2031, 5, 1), 1) == date(2031, 4, 30)
    assert day_before(date(1, 1, 5), 1_000) == date(1, 1, 1)
