"""From when to when an entry is on: over midnight, and not at all where the day has no such time."""

from datetime import date

import pytest

from hub.timetable.hours import hours_of
from hub.timetable.moments import Moments
from tests.hub.timetable.planned import TROMSO, local, venue_with

STOCKHOLM = (59.33, 18.07)
MIDSUMMER, MIDWINTER = "2026-06-20", "2026-12-20"


def hours(begins: str, ends: str, day: str, place: tuple[float, float] = STOCKHOLM) -> str | None:
    """Such as `15:47 to 08:44+`; + is the next day."""
    zone = "Europe/Stockholm"
    venue = venue_with({"begins": begins, "ends": ends}, zone=zone, place=place)
    found = hours_of(venue.timetable[0], date.fromisoformat(day), Moments(venue))
    if found is None:
        return None
    clocks = [local(at_ms, zone) for at_ms in found]
    return " to ".join(clock[11:16] + ("+" if clock[:10] > day else "") for clock in clocks)


# In Stockholm the sun sets at 22:07 at midsummer, with civil dusk at 23:39, and at 14:47 at midwinter.
@pytest.mark.parametrize(
    ("begins", "ends", "summer", "winter"),
    [
        ("18:00", "23:00", "18:00 to 23:00", "18:00 to 23:00"),
        ("18:00", "02:00", "18:00 to 02:00+", "18:00 to 02:00+"),
        ("18:00", "18:00", "18:00 to 18:00+", "18:00 to 18:00+"),
        ("sunset", "23:00", "22:07 to 23:00", "14:47 to 23:00"),
        ("sunset", "02:00", "22:07 to 02:00+", "14:47 to 02:00+"),
        ("sunset", "sunrise", "22:07 to 03:30+", "14:47 to 08:43+"),
        ("sunset", "sunset", "22:07 to 22:08+", "14:47 to 14:48+"),
        ("sunrise", "sunset", "03:30 to 22:07", "08:42 to 14:47"),
        ("16:00", "sunset", "16:00 to 22:07", None),
        ("civil dusk", "23:00", None, "15:43 to 23:00"),
        ("06:00", "sunrise", None, "06:00 to 08:42"),
        ("22:00", "sunrise", "22:00 to 03:30+", "22:00 to 08:43+"),
        ("sunrise", "07:00", "03:30 to 07:00", None),
        ("sunrise", "02:00", "03:30 to 02:00+", "08:42 to 02:00+"),
        ("sunset + 600 min", "08:30", "08:07+ to 08:30+", "00:47+ to 08:30+"),
    ],
)
def test_hours_in_summer_and_winter(begins: str, ends: str, summer: str | None, winter: str | None) -> None:
    assert (hours(begins, ends, MIDSUMMER), hours(begins, ends, MIDWINTER)) == (summer, winter)


@pytest.mark.parametrize(
    ("begins", "ends", "summer", "winter"),
    [
        ("sunset", "sunrise", None, "11:41 to 11:42+"),
        ("sunrise", "sunset", "00:45 to 00:45+", None),
        ("civil dusk", "civil dawn", None, "13:52 to 09:31+"),
        ("sunset", "23:00", None, "11:41 to 23:00"),
    ],
)
def test_hours_in_polar_day_and_polar_night(begins: str, ends: str, summer: str | None, winter: str | None) -> None:
    assert (hours(begins, ends, MIDSUMMER, TROMSO), hours(begins, ends, MIDWINTER, TROMSO)) == (summer, winter)
