"""Days of the account: those of the venue's time zone. Pure."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta, tzinfo
from typing import Final

DAY_S: Final = 86_400


def day_of(at_s: float, zone: tzinfo) -> str:
    """The local day of a show time, YYYY-MM-DD."""
    return _date_of(at_s, zone).isoformat()


def day_before(day: date, days: int) -> date:
    """So many days before; the first day there is where the calendar ends."""
    return day - timedelta(days=min(days, day.toordinal() - 1))


def shares_by_day(ended_s: float, lasted_s: float, zone: tzinfo) -> Iterator[tuple[str, float]]:
    """The local days of a time that ended at show time `ended_s`, each with its share of it; the shares sum to 1.

    A day lasts from one local midnight to the next: 23 or 25 hours where clocks change.
    """
    began_s = ended_s - lasted_s
    day = _date_of(began_s, zone)
    if lasted_s <= 0 or day == _date_of(ended_s, zone):
        yield day.isoformat(), 1.0
        return
    from_s = began_s
    while from_s < ended_s:
        following = day + timedelta(days=1)
        to_s = min(ended_s, _midnight_s(following, zone))
        # A day that the zone leaves out, or that a change of clocks around midnight has twice, has nothing here.
        if to_s > from_s:
            yield day.isoformat(), (to_s - from_s) / lasted_s
            from_s = to_s
        day = following


def _date_of(at_s: float, zone: tzinfo) -> date:
    return datetime.fromtimestamp(at_s, zone).date()


def _midnight_s(day: date, zone: tzinfo) -> float:
    """Show time of the day's first instant; where clocks skip midnight, of the change."""
    return datetime(day.year, day.month, day.day, tzinfo=zone).timestamp()
