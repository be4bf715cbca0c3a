"""Entries that stay out: their scene fails the flash check and nobody answers for it, or it is not checked yet."""

from hub.timetable import left_out_entries
from tests.hub.timetable.planned import Entry, venue_with

EVENING: Entry = {"begins": "18:00", "ends": "23:00"}


def test_entries_are_left_out_with_the_reason_and_what_to_do() -> None:
    venue = venue_with(
        EVENING | {"scene": "strobe"},
        EVENING | {"scene": "strobe", "flash_confirmed_by": "A. Warden (invented)"},
        EVENING | {"scene": "new"},
        EVENING | {"scene": "calm"},
        EVENING | {"scene": None},
    )
    found = left_out_entries(venue.timetable, {"strobe": "flashes 8 times a second"}, ["new"])
    assert list(found) == ["e0", "e2"]
    assert "flashes 8 times a second" in found["e0"]
    assert "flash_confirmed_by" in found["e0"]
    assert "being checked" in found["e2"]
