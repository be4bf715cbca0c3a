"""The days of a timetable entry, and how entries rank by the way that they name them. Pure."""

from datetime import date, timedelta
from enum import IntEnum
from typing import Final, get_args

from hub.timetable.rule import days_of_rule
from schemas.timetable import TimetableEntry, Weekday

WEEKDAYS: Final[tuple[Weekday, ...]] = get_args(Weekday)


class Rank(IntEnum):
    """What wins where entries overlap: the higher rank, and of equals the entry further down."""

    ANY_DAY = 0
    RANGE = 1
    DATES = 2


def rank_of(entry: TimetableEntry) -> Rank:
    if entry.dates:
        return Rank.DATES
    return Rank.RANGE if entry.first_day or entry.last_day else Rank.ANY_DAY


def days_of(entry: TimetableEntry, from_day: date, to_day: date) -> list[date]:
    """Its days from `from_day` to `to_day`, both counted, in order. Raises RuleError for a rule that cannot be read."""
    return [day for day in _named(entry, from_day, to_day) if day not in entry.except_dates]


def _named(entry: TimetableEntry, from_day: date, to_day: date) -> list[date]:
    if entry.dates:
        return sorted({day for day in entry.dates if from_day <= day <= to_day})
    first = max(from_day, entry.first_day or from_day)
    last = min(to_day, entry.last_day or to_day)
    if entry.rule is not None and entry.first_day is not None:
        return days_of_rule(entry.rule, entry.first_day, first, last)
    days = (first + timedelta(days=count) for count in range((last - first).days + 1))
    return [day for day in days if not entry.weekdays or WEEKDAYS[day.weekday()] in entry.weekdays]
