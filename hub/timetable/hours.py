"""From when to when an entry is on, on one of its days. Pure."""

from datetime import date, timedelta
from typing import Final

from hub.timetable.moments import Moments, sun_moment
from schemas.timetable import SUN_MOMENTS, TimetableEntry

_HOUR_MIN: Final = 60
_NOON_MIN: Final = 12 * _HOUR_MIN
_MIDNIGHT_MIN: Final = 24 * _HOUR_MIN
_MORNING: Final = ("civil dawn", "sunrise")
_SMALL_HOURS_MIN: Final = 4 * _HOUR_MIN


def hours_of(entry: TimetableEntry, day: date, moments: Moments) -> tuple[int, int] | None:
    """Begin and end on a day, show time ms; None where the entry does not happen on it.

    It ends on the same date where that is after its begin, otherwise on the next; but not where both are plainly meant
    for one day. Then the day has no such time: 02:30 to 03:15 where a change of clocks skips it, civil dusk to 22:00
    where dusk is later, sunrise to sunset in polar night. The entry would be on for a day instead. Nor does it happen
    where both come to one instant, as sunset and sunrise do in polar day.
    """
    begins_ms = moments.at(entry.begins, day)
    ends_ms = moments.at(entry.ends, day)
    if ends_ms <= begins_ms and not _meant_for_one_day(entry.begins, entry.ends):
        ends_ms = moments.at(entry.ends, day + timedelta(days=1))
    return (begins_ms, ends_ms) if ends_ms > begins_ms else None


def _meant_for_one_day(begins: str, ends: str) -> bool:
    """Whether begin and end, as written, belong to one day, wherever and whenever that is."""
    begins_name, offset_min = ("", 0) if begins[0].isdigit() else sun_moment(begins)
    ends_name = "" if ends[0].isdigit() else sun_moment(ends)[0]
    if begins_name and ends_name:
        return SUN_MOMENTS.index(begins_name) < SUN_MOMENTS.index(ends_name)
    if begins_name:
        # Who writes 07:00 after a sunrise means that morning, and 22:00 after a sunset that evening.
        earliest_min = _SMALL_HOURS_MIN if begins_name in _MORNING else _NOON_MIN
        return _minutes(ends) > earliest_min + offset_min
    if ends_name:
        # Before noon an end at sunrise is that morning's; an end at sunset is that day's at any hour.
        return _minutes(begins) < (_NOON_MIN if ends_name in _MORNING else _MIDNIGHT_MIN)
    return begins < ends


def _minutes(clock: str) -> int:
    hours, minutes = clock.split(":")
    return int(hours) * _HOUR_MIN + int(minutes)
