"""The export read back by the library: a calendar that holds what the timetable has on."""

from datetime import UTC, datetime

import pytest
from icalendar import Calendar

from hub.timetable import icalendar_export
from hub.timetable.icalendar_export import calendar_of
from hub.timetable.month import month_of
from tests.hub.timetable.planned import Entry, show_ms, venue_with

WEEKLY: Entry = {"id": "weekly", "title": "Evenings; calm, warm", "scene": "calm", "begins": "18:00", "ends": "23:00"}
SHOW: Entry = {"id": "show", "scene": "lively", "begins": "20:00", "ends": "21:00", "dates": ["2026-10-25"]}
NOW_MS = show_ms("2026-10-24T19:00")


def test_events_are_the_spells_of_the_month_across_the_change_of_clocks() -> None:
    venue = venue_with(WEEKLY, SHOW)
    calendar = Calendar.from_ical(calendar_of(venue, NOW_MS, days=8))
    assert not calendar.errors
    found = [(str(event["UID"]), event.start, event.end) for event in calendar.events]
    assert found[0][1:] == (datetime(2026, 10, 24, 16, tzinfo=UTC), datetime(2026, 10, 24, 21, tzinfo=UTC))
    assert found[1][1:] == (datetime(2026, 10, 25, 17, tzinfo=UTC), datetime(2026, 10, 25, 19, tzinfo=UTC))
    spells = {
        spell.begins.at_ms: spell for day in month_of(venue, 2026, 10).days for spell in day.spells if day.day.day >= 24
    }
    assert [start for _, start, _ in found] == [datetime.fromtimestamp(at_ms / 1_000, UTC) for at_ms in spells]
    assert len({uid for uid, _, _ in found}) == len(found)


def test_text_survives_and_version_and_stamp_are_there() -> None:
    data = calendar_of(venue_with(WEEKLY), NOW_MS, days=1)
    calendar = Calendar.from_ical(data)
    assert (str(calendar["VERSION"]), str(calendar["NAME"])) == ("2.0", "Arcade (invented): timetable")
    assert str(calendar["PRODID"]).startswith("-//Stringcourse//")
    event = calendar.events[0]
    assert str(event["DESCRIPTION"]).startswith("Evenings; calm, warm: 18:00 to 23:00")
    assert event.stamp == datetime(2026, 10, 24, 17, tzinfo=UTC)
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))  # §3.1
    assert b"\nX-" not in data


def test_uid_stays_the_same_from_one_export_to_the_next() -> None:
    venue = venue_with(WEEKLY, SHOW)

    def uids(now_ms: int) -> set[str]:
        return {str(event["UID"]) for event in Calendar.from_ical(calendar_of(venue, now_ms, days=7)).events}

    # Between the two parts of the evening that the show divides.
    assert uids(show_ms("2026-10-25T22:00")) - uids(NOW_MS) == {"1793466000-weekly@arcade"}


def test_what_would_be_too_long_is_cut_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(icalendar_export, "MAX_EVENTS", 5)
    calendar = Calendar.from_ical(calendar_of(venue_with(WEEKLY), NOW_MS, days=60))
    assert len(calendar.events) == 5
    assert "cut after 5 events, on 2026-10-28" in str(calendar["DESCRIPTION"])


def test_left_out_entries_are_named() -> None:
    calendar = Calendar.from_ical(calendar_of(venue_with(WEEKLY), NOW_MS, 7, {"weekly": "its scene flashes"}))
    assert calendar.events == []
    assert str(calendar["DESCRIPTION"]).endswith("Left out: weekly.")
