"""Local times against the examples of RFC 5545 and the changes of clocks in the IANA time zone database."""

from datetime import UTC, date, datetime

import pytest

from hub.timetable.moments import Moments
from tests.hub.timetable.planned import takes, venue_with


def utc(zone: str, day: str, time: str) -> str:
    """When a local time is, in UTC."""
    at_ms = Moments(venue_with(zone=zone)).at(time, date.fromisoformat(day))
    return datetime.fromtimestamp(at_ms / 1_000, UTC).strftime("%Y-%m-%dT%H:%MZ")


@pytest.mark.parametrize(
    ("zone", "day", "time", "expected"),
    [
        # RFC 5545 §3.3.5: "TZID=America/New_York:20071104T013000 indicates November 4, 2007 at 1:30 A.M. EDT", and
        # "20070311T023000 indicates March 11, 2007 at 3:30 A.M. EDT (UTC-04:00), one hour after 1:30 A.M. EST".
        ("America/New_York", "2007-11-04", "01:30", "2007-11-04T05:30Z"),
        ("America/New_York", "2007-03-11", "02:30", "2007-03-11T07:30Z"),
        # IANA, Rule EU: the last Sundays of March and October at 01:00 UTC.
        ("Europe/Vienna", "2026-03-29", "01:59", "2026-03-29T00:59Z"),
        ("Europe/Vienna", "2026-03-29", "02:00", "2026-03-29T01:00Z"),
        ("Europe/Vienna", "2026-03-29", "02:59", "2026-03-29T01:59Z"),
        ("Europe/Vienna", "2026-03-29", "03:00", "2026-03-29T01:00Z"),
        ("Europe/Vienna", "2026-10-25", "02:30", "2026-10-25T00:30Z"),
        ("Europe/Vienna", "2026-10-25", "03:00", "2026-10-25T02:00Z"),
        # IANA, Rule LH: Lord Howe Island goes from +10:30 to +11 on the first Sunday of October at 2:00, and back on
        # the first Sunday of April at 2:00: half an hour.
        ("Australia/Lord_Howe", "2026-10-04", "01:59", "2026-10-03T15:29Z"),
        ("Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-03T15:45Z"),
        ("Australia/Lord_Howe", "2026-10-04", "02:30", "2026-10-03T15:30Z"),
        ("Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-04T14:45Z"),
        ("Australia/Lord_Howe", "2026-04-05", "02:00", "2026-04-04T15:30Z"),
        # IANA: Brisbane keeps +10 all year; Kathmandu +5:45; Kiritimati +14.
        ("Australia/Brisbane", "2026-10-04", "02:30", "2026-10-03T16:30Z"),
        ("Asia/Kathmandu", "2026-10-04", "06:00", "2026-10-04T00:15Z"),
        ("Pacific/Kiritimati", "2026-10-04", "06:00", "2026-10-03T16:00Z"),
        # IANA, Rule Cuba: clocks go forward at midnight, so that the day begins at 1:00.
        ("America/Havana", "2026-03-08", "00:00", "2026-03-08T05:00Z"),
    ],
)
def test_local_times_around_changes_of_clocks(zone: str, day: str, time: str, expected: str) -> None:
    assert utc(zone, day, time) == expected


def test_day_of_the_spring_change_has_an_hour_less_and_hours_keep_to_the_clock() -> None:
    venue = venue_with({"begins": "18:00", "ends": "23:00"}, {"begins": "01:00", "ends": "04:00", "scene": "night"})
    assert takes(venue, "2026-03-28T12:00", days=1) == [
        ("2026-03-28 04:00", None),
        ("2026-03-28 18:00", "s0"),
        ("2026-03-28 23:00", None),
        ("2026-03-29 01:00", "night"),
        ("2026-03-29 04:00", None),
        ("2026-03-29 18:00", "s0"),
        ("2026-03-29 23:00", None),
    ]


def test_time_that_comes_twice_is_taken_once() -> None:
    venue = venue_with({"begins": "02:15", "ends": "02:45"})
    assert takes(venue, "2026-10-24T12:00", days=1)[1:] == [("2026-10-25 02:15", "s0"), ("2026-10-25 02:45", None)]


def test_entry_inside_the_gap_keeps_its_length_and_one_across_it_never_lasts_a_day() -> None:
    inside = venue_with({"begins": "02:10", "ends": "02:50"})
    assert takes(inside, "2026-03-28T12:00", days=1)[1:] == [("2026-03-29 03:10", "s0"), ("2026-03-29 03:50", None)]
    across = venue_with({"begins": "02:30", "ends": "03:15"})
    assert takes(across, "2026-03-28T12:00", days=1)[1:] == []
