"""Days of the account begin and end at midnight of the venue's time zone."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from hub.energy.days import day_before, day_of, shares_by_day

MIDNIGHT_S = datetime(2031, 5, 2, tzinfo=UTC).timestamp()


def test_day_begins_at_midnight() -> None:
    assert (day_of(MIDNIGHT_S - 0.001, UTC), day_of(MIDNIGHT_S, UTC)) == ("2031-05-01", "2031-05-02")


def test_time_within_a_day_is_all_of_that_day() -> None:
    assert list(shares_by_day(MIDNIGHT_S + 10, 10, UTC)) == [("2031-05-02", 1.0)]
    assert list(shares_by_day(MIDNIGHT_S, 0, UTC)) == [("2031-05-02", 1.0)]


def test_time_up_to_midnight_is_of_the_day_before() -> None:
    assert list(shares_by_day(MIDNIGHT_S, 10, UTC)) == [("2031-05-01", 1.0)]


def test_time_over_midnights_is_shared_by_its_length() -> None:
    assert list(shares_by_day(MIDNIGHT_S + 6, 10, UTC)) == [("2031-05-01", 0.4), ("2031-05-02", 0.6)]
    shares = dict(shares_by_day(MIDNIGHT_S + 86_400 + 10, 86_400 + 30, UTC))
    assert list(shares) == ["2031-05-01", "2031-05-02", "2031-05-03"]
    assert sum(shares.values()) == pytest.approx(1)


def test_days_before_end_with_the_calendar() -> None:
    assert day_before(date(2031, 5, 1), 1) == date(2031, 4, 30)
    assert day_before(date(1, 1, 5), 1_000) == date(1, 1, 1)


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        # IANA time zone database: Vienna changes at 01:00 UTC on 2026-03-29 and 2026-10-25, Lord Howe by half an hour
        # on 2026-10-04, Beirut at midnight (2026-03-29 begins at 01:00); Tokyo never.
        ("Europe/Vienna", "2026-03-29", 23.0),
        ("Europe/Vienna", "2026-10-25", 25.0),
        ("Australia/Lord_Howe", "2026-10-04", 23.5),
        ("Asia/Beirut", "2026-03-29", 23.0),
        ("Asia/Tokyo", "2026-03-29", 24.0),
    ],
)
def test_day_on_which_clocks_change_is_as_long_as_it_is(zone: str, day: str, hours: float) -> None:
    noon_s = datetime.fromisoformat(f"{day}T12:00").replace(tzinfo=ZoneInfo(zone)).timestamp()
    shares = dict(shares_by_day(noon_s + 2 * 86_400, 4 * 86_400, ZoneInfo(zone)))
    assert shares[day] * 4 * 24 == pytest.approx(hours)
    assert sum(shares.values()) == pytest.approx(1)


def test_day_that_a_zone_left_out_has_no_share() -> None:
    # IANA time zone database: Samoa had no 2011-12-30, when it moved to the other side of the date line.
    noon_s = datetime(2011, 12, 31, 12, tzinfo=ZoneInfo("Pacific/Apia")).timestamp()
    assert dict(shares_by_day(noon_s, 86_400, ZoneInfo("Pacific/Apia"))) == {"2011-12-29": 0.5, "2011-12-31": 0.5}
