"""Times of day as show time: local clock times of an IANA zone, and moments of the sun at a place."""

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo

from hub.errors import InvalidError, Mistake
from hub.timetable.sun import FIRST_YEAR, LAST_YEAR, SunDay, sun_day
from schemas import Venue
from schemas.timetable import Place

MIN_MS: Final = round(datetime(FIRST_YEAR, 1, 1, tzinfo=UTC).timestamp() * 1_000)
MAX_MS: Final = round(datetime(LAST_YEAR + 1, 1, 1, tzinfo=UTC).timestamp() * 1_000)
_MS: Final = timedelta(milliseconds=1)
_NOON: Final = time(12)


class Moments:
    """The clock on the wall and the sun above a venue."""

    def __init__(self, venue: Venue) -> None:
        """Raises InvalidError where the venue's time zone does not exist."""
        self.zone = zone_of(venue.time_zone)
        self._place = venue.place

    def at(self, time_of_day: str, day: date) -> int:
        """Show time of a `TimeOfDay` on a local date, ms. Raises InvalidError for the sun where there is no place.

        A local time that a change of clocks skips is read with the offset before it; of one that comes twice the first
        is meant (RFC 5545 §3.3.5).
        """
        if time_of_day[0].isdigit():
            return self._clock(day, time.fromisoformat(time_of_day))
        name, offset_min = sun_moment(time_of_day)
        sun = self.sun(day)
        moment_ms = {
            "civil dawn": sun.civil.up_ms,
            "sunrise": sun.day.up_ms,
            "sunset": sun.day.down_ms,
            "civil dusk": sun.civil.down_ms,
        }[name]
        return moment_ms + offset_min * 60_000

    def midnight(self, day: date) -> int:
        """Show time at which a local date begins, ms."""
        return self._clock(day, time())

    def sun(self, day: date) -> SunDay:
        """The sun on a local date. Raises InvalidError where the venue states no place."""
        if self._place is None:
            reason = "the sun's moments need the venue's place"
            raise InvalidError(reason, [Mistake("place", reason, "state `place` with latitude_deg and longitude_deg")])
        return _sun_day(self._place, day, self.zone)

    def day(self, show_ms: float) -> date:
        """The local date at a show time. Raises InvalidError outside of the years that are known."""
        return self.local(show_ms).date()

    def local(self, show_ms: float) -> datetime:
        """A show time by the clock on the wall, whole milliseconds. Raises InvalidError as `day` does."""
        if not MIN_MS <= show_ms < MAX_MS:
            reason = f"{show_ms} ms is outside of the years {FIRST_YEAR} to {LAST_YEAR}, for which timetables are known"
            raise InvalidError(reason, [Mistake("at_ms", reason, "ask for a time within; or set the hub's clock")])
        return (datetime.fromtimestamp(0, UTC) + round(show_ms) * _MS).astimezone(self.zone)

    def _clock(self, day: date, at: time) -> int:
        # fold=0 is both: the offset before a gap, and the first of two.
        return round(datetime.combine(day, at, self.zone).timestamp() * 1_000)


def zone_of(name: str) -> ZoneInfo:
    """The zone of the IANA database. Raises InvalidError naming `time_zone`."""
    try:
        return ZoneInfo(name)
    except (
        OSError,
        ValueError,
        KeyError,
    ) as error:  # a folder of zones and what is no zone file are errors of their own
        reason = f"{name!r} is no zone of the IANA time zone database"
        raise InvalidError(reason, [Mistake("time_zone", reason, "write one such as Europe/Vienna")]) from error


def sun_moment(time_of_day: str) -> tuple[str, int]:
    """The name of a moment of the sun and the minutes after it, of a `TimeOfDay` that names one."""
    for sign in "+-":
        name, found, minutes = time_of_day.partition(f" {sign} ")
        if found:
            return name, int(f"{sign}{minutes.removesuffix(' min')}")
    return time_of_day, 0


@lru_cache(maxsize=4_096)
def _sun_day(place: Place, day: date, zone: ZoneInfo) -> SunDay:
    offset = datetime.combine(day, _NOON, zone).utcoffset()
    return sun_day(place, day, offset or timedelta())
