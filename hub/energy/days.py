"""Days of the account: UTC, since a venue states no time zone. Pure."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Final

DAY_S: Final = 86_400


def day_of(at_s: float) -> str:
    """The UTC day of a show time, YYYY-MM-DD."""
    return datetime.fromtimestamp(at_s, UTC).strftime("%Y-%m-%d")


def day_before(day: date, days: int) -> date:
    """So many days before; the first day there is where the calendar ends."""
    return day - timedelta(days=min(days, day.toordinal() - 1))


def shares_by_day(ended_s: float, lasted_s: float) -> Iterator[tuple[str, float]]:
    """The days of a time that ended at show time `ended_s`, each with its share of it; the shares sum to 1."""
    began_s = ended_s - lasted_s
    if lasted_s <= 0 or began_s // DAY_S == ended_s // DAY_S:
        yield day_of(ended_s), 1.0
        return
    from_s = began_s
    while from_s < ended_s:
        to_s = min(ended_s, (from_s // DAY_S + 1) * DAY_S)
        yield day_of(from_s), (to_s - from_s) / lasted_s
        from_s = to_s
