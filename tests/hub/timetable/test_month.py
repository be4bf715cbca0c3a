"""A month by days: spells with begin and end, the sun, changes of clocks, entries that do not happen."""

import pytest

from hub.errors import InvalidError
from hub.timetable import month_of
from tests.hub.timetable.planned import TROMSO, Entry, venue_with

NIGHT: Entry = {"id": "night", "scene": "calm", "begins": "22:00", "ends": "02:00"}


def test_spell_over_midnight_is_on_both_days_with_its_true_times() -> None:
    month = month_of(venue_with(NIGHT), 2026, 5)
    assert len(month.days) == 31
    first = month.days[0].spells
    assert [(one.begins.local[:16], one.ends.local[:16]) for one in first] == [
        ("2026-04-30T22:00", "2026-05-01T02:00"),
        ("2026-05-01T22:00", "2026-05-02T02:00"),
    ]
    assert month.days[-1].spells[-1].ends.local[:16] == "2026-06-01T02:00"


def test_spells_share_the_day_by_precedence() -> None:
    show: Entry = {"id": "show", "begins": "23:00", "ends": "23:30", "dates": ["2026-05-02"]}
    day = month_of(venue_with(NIGHT, show), 2026, 5).days[1]
    assert [(one.entry, one.begins_as, one.ends_as) for one in day.spells] == [
        ("night", "22:00", "02:00"),
        ("night", "22:00", "begin of show"),
        ("show", "23:00", "23:30"),
        ("night", "end of show", "02:00"),
    ]


def test_changes_of_clocks_and_entries_that_do_not_happen_are_noted() -> None:
    gap: Entry = {"id": "gap", "begins": "02:30", "ends": "03:15"}
    days = month_of(venue_with(gap), 2026, 3).days
    assert days[28].notes == [
        "clocks change from UTC+0100 to UTC+0200: the day has 23 hours",
        "gap does not happen: this day has no time from 02:30 to 03:15",
    ]
    assert [day.day.day for day in days if day.notes] == [29]
    assert month_of(venue_with(gap), 2026, 10).days[24].notes[0].endswith("the day has 25 hours")


def test_sun_of_the_polar_night_is_null_and_told() -> None:
    night: Entry = {"begins": "sunrise", "ends": "sunset"}
    day = month_of(venue_with(night, zone="Europe/Oslo", place=TROMSO), 2026, 12).days[20]
    assert day.sun is not None
    assert (day.sun.sunrise, day.sun.sunset) == (None, None)
    assert day.sun.noon.local[:13] == "2026-12-21T11"
    assert day.notes == ["e0 does not happen: this day has no time from sunrise to sunset"]


def test_without_a_place_there_is_no_sun() -> None:
    assert month_of(venue_with(NIGHT, place=None), 2026, 5).days[0].sun is None


def test_left_out_entries_are_absent_and_told() -> None:
    month = month_of(venue_with(NIGHT), 2026, 5, {"night": "its scene flashes"})
    assert month.left_out[0].entry == "night"
    assert not any(day.spells for day in month.days)


@pytest.mark.parametrize(("year", "month"), [(1970, 1), (2052, 12)])
def test_first_and_last_month_that_are_known(year: int, month: int) -> None:
    assert month_of(venue_with(NIGHT), year, month).days[-1].spells


@pytest.mark.parametrize("year", [1969, 2053, 0, 9999])
def test_month_that_is_not_known_is_refused(year: int) -> None:
    with pytest.raises(InvalidError, match="1970 to 2052"):
        month_of(venue_with(NIGHT), year, 5)
