"""When a route tells: hours of the day on days of the week, by the venue's clock on the wall. Pure."""

from datetime import date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from hub.notify.destination import Hours
from hub.timetable.days import WEEKDAYS

DAYS_LOOKED_AHEAD: Final = 8
DAY: Final = timedelta(days=1)


def told_at_ms(hours: Hours | None, now_ms: int, zone: ZoneInfo) -> int:
    """`now_ms` within the hours, else when they begin next, show time in ms."""
    if hours is None:
        return now_ms
    today = datetime.fromtimestamp(now_ms / 1_000, zone).date()
    days = (today + count * DAY for count in range(-1, DAYS_LOOKED_AHEAD + 1))
    spells = [
        _spell(hours, day, zone) for day in days if not hours.weekdays or WEEKDAYS[day.weekday()] in hours.weekdays
    ]
    if any(begins_ms <= now_ms < ends_ms for begins_ms, ends_ms in spells):
        return now_ms
    return min(begins_ms for begins_ms, _ in spells if begins_ms > now_ms)


def last_time_of_day(at: str, now_ms: int, zone: ZoneInfo) -> tuple[date, int]:
    """The last day on which this time of day was reached, and when, show time in ms."""
    day = datetime.fromtimestamp(now_ms / 1_000, zone).date()
    reached_ms = time_of_day_ms(day, at, zone)
    if reached_ms > now_ms:
        day -= DAY
        reached_ms = time_of_day_ms(day, at, zone)
    return day, reached_ms


def _spell(hours: Hours, day: date, zone: ZoneInfo) -> tuple[int, int]:
    ends_day = day if time.fromisoformat(hours.ends) > time.fromisoformat(hours.begins) else day + DAY
    return time_of_day_ms(day, hours.begins, zone), time_of_day_ms(ends_day, hours.ends, zone)


def time_of_day_ms(day: date, at: str, zone: ZoneInfo) -> int:
    """Show time in ms; the first of two such times where the clocks are put back."""
    return round(datetime.combine(day, time.fromisoformat(at), zone).timestamp() * 1_000)
