"""Recurrences of whole days by RFC 5545 §3.3.10, expanded by python-dateutil."""

import re
from collections.abc import Iterator
from datetime import MAXYEAR, date, datetime, time
from functools import lru_cache
from itertools import takewhile
from typing import Final

from dateutil.rrule import rrulestr

FREQUENCIES: Final = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
FIRST_YEAR: Final = 1970
_DAY: Final = "(?:MO|TU|WE|TH|FR|SA|SU)"
_UP_TO_31: Final = "(?:[1-9]|[12][0-9]|3[01])"
_UP_TO_53: Final = "(?:[1-9]|[1-4][0-9]|5[0-3])"
_UP_TO_366: Final = "(?:[1-9]|[1-9][0-9]|[12][0-9]{2}|3[0-5][0-9]|36[0-6])"
_PARTS: Final = {
    "FREQ": ("|".join(FREQUENCIES), "DAILY, WEEKLY, MONTHLY or YEARLY: rules name days, not times of day"),
    "INTERVAL": ("[1-9][0-9]{0,2}", "a number from 1 to 999"),
    "COUNT": ("[1-9][0-9]{0,3}", "a number from 1 to 9999"),
    "UNTIL": ("[0-9]{8}", "a date such as 20311224"),
    "BYMONTH": ("{0}(?:,{0})*".format("(?:[1-9]|1[0-2])"), "months from 1 to 12"),
    "BYMONTHDAY": ("{0}(?:,{0})*".format(f"[+-]?{_UP_TO_31}"), "days from 1 to 31, or from -1, the last, to -31"),
    "BYYEARDAY": ("{0}(?:,{0})*".format(f"[+-]?{_UP_TO_366}"), "days from 1 to 366, or from -1, the last, to -366"),
    "BYWEEKNO": ("{0}(?:,{0})*".format(f"[+-]?{_UP_TO_53}"), "weeks from 1 to 53, or from -1, the last, to -53"),
    "BYDAY": ("{0}(?:,{0})*".format(f"(?:[+-]?{_UP_TO_53})?{_DAY}"), "days such as MO,WE or 1FR or -1SU"),
    "BYSETPOS": ("{0}(?:,{0})*".format(f"[+-]?{_UP_TO_366}"), "places from 1 to 366, or from -1, the last, to -366"),
    "WKST": (_DAY, "a day such as MO"),
}
_WEEKDAYS_IN_MONTH: Final = 5
_GREGORIAN_YEARS: Final = 400
_YEARS_KEPT: Final = 1_024


class RuleError(ValueError):
    """What is wrong with a rule, and what to do."""

    def __init__(self, reason: str, remedy: str) -> None:
        super().__init__(reason)
        self.reason = reason
        self.remedy = remedy


def check_rule(rule: str, first_day: date) -> None:
    """Raise RuleError unless the rule, counted from `first_day`, can be read and names a day."""
    parts = _read(rule)
    if first_day.year < FIRST_YEAR:
        raise RuleError(f"it would count from {first_day}", f"state a first_day from {FIRST_YEAR} on")
    if next(_occurrences(parts, first_day, first_day), None) is None:
        raise RuleError("it names no day at all", "look at its parts: together they leave nothing, such as 30 February")


def days_of_rule(rule: str, first_day: date, from_day: date, to_day: date) -> list[date]:
    """The days from `from_day` to `to_day`, both counted, that the rule names. Raises RuleError."""
    years = range(max(from_day, first_day).year, to_day.year + 1)
    return [day for year in years for day in _days_of_year(rule, first_day, year) if from_day <= day <= to_day]


@lru_cache(maxsize=_YEARS_KEPT)
def _days_of_year(rule: str, first_day: date, year: int) -> tuple[date, ...]:
    """Kept, for a rule must be followed from its first day on each time."""
    upto = takewhile(lambda day: day.year <= year, _occurrences(_read(rule), first_day, date(year, 12, 31)))
    return tuple(day for day in upto if day.year == year)


def _occurrences(parts: dict[str, str], first_day: date, near: date) -> Iterator[date]:
    """All days of the rule in order, some centuries beyond `near`."""
    # dateutil looks for the next day until the year 9999, however long that takes. The calendar repeats after 400
    # years, weekdays included, so a rule laid so many times 400 years later has the same days, and that end is near.
    later = (MAXYEAR - near.year) // _GREGORIAN_YEARS * _GREGORIAN_YEARS
    if "UNTIL" in parts:
        until = _until(parts["UNTIL"])
        if until < first_day:
            return
        parts = {name: value for name, value in parts.items() if name != "UNTIL"}
        if until.year + later <= MAXYEAR:
            parts["UNTIL"] = f"{_moved(until, later):%Y%m%d}"
    if "BYWEEKNO" in parts and "BYDAY" not in parts:
        # What a rule leaves open comes from its start (RFC 5545 §3.3.10); dateutil would take the whole week.
        parts = parts | {"BYDAY": f"{first_day:%a}".upper()[:2]}
    text = ";".join(f"{name}={value}" for name, value in parts.items())
    for at in rrulestr(text, dtstart=datetime.combine(_moved(first_day, later), time())):
        yield _moved(at.date(), -later)


def _read(rule: str) -> dict[str, str]:
    parts: dict[str, str] = {}
    for part in rule.split(";"):
        name, _, value = part.partition("=")
        if name not in _PARTS:
            raise RuleError(f"it has a part {part!r}", f"a rule of days is made of {', '.join(_PARTS)}")
        if name in parts:
            raise RuleError(f"it has {name} twice", "write each part once, its values with commas between")
        pattern, allowed = _PARTS[name]
        if re.fullmatch(pattern, value) is None:
            raise RuleError(f"its {name} is {value!r}", f"{name} takes {allowed}")
        parts[name] = value
    _check_together(parts)
    return parts


def _check_together(parts: dict[str, str]) -> None:
    """What RFC 5545 §3.3.10 says of parts beside one another."""
    if "FREQ" not in parts:
        raise RuleError("it has no FREQ", f"begin it with FREQ={'|'.join(FREQUENCIES)}, such as FREQ=WEEKLY;BYDAY=FR")
    frequency = parts["FREQ"]
    if "COUNT" in parts and "UNTIL" in parts:
        raise RuleError("it has both COUNT and UNTIL", "leave one of them out")
    if "UNTIL" in parts:
        _until(parts["UNTIL"])
    if "BYMONTHDAY" in parts and frequency == "WEEKLY":
        raise RuleError("it has BYMONTHDAY with FREQ=WEEKLY", "write FREQ=MONTHLY, or BYDAY")
    if "BYYEARDAY" in parts and frequency != "YEARLY":
        raise RuleError(f"it has BYYEARDAY with FREQ={frequency}", "write FREQ=YEARLY")
    if "BYWEEKNO" in parts and frequency != "YEARLY":
        raise RuleError(f"it has BYWEEKNO with FREQ={frequency}", "write FREQ=YEARLY")
    counted = [int(number) for number in re.findall("[0-9]+", parts.get("BYDAY", ""))]
    if counted and (frequency not in ("MONTHLY", "YEARLY") or "BYWEEKNO" in parts):
        raise RuleError("its BYDAY counts days", "numbers such as 1FR need FREQ=MONTHLY, or YEARLY without BYWEEKNO")
    if counted and (frequency == "MONTHLY" or "BYMONTH" in parts) and max(counted) > _WEEKDAYS_IN_MONTH:
        raise RuleError(
            "its BYDAY counts beyond a month", "a month has at most five of a day: 1FR to 5FR, -1FR to -5FR"
        )
    if "BYSETPOS" in parts and not any(name.startswith("BY") and name != "BYSETPOS" for name in parts):
        raise RuleError("its BYSETPOS has nothing to choose from", "add BYDAY, BYMONTHDAY or another of them")


def _until(text: str) -> date:
    try:
        return datetime.strptime(text, "%Y%m%d").date()
    except ValueError as error:
        raise RuleError(f"its UNTIL is {text!r}, no day of the calendar", "write a date such as 20311224") from error


def _moved(day: date, years: int) -> date:
    return day.replace(year=day.year + years)
