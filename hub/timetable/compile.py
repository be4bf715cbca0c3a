"""A venue's timetable as the takes of the coming days, which its boards keep with neither calendar nor sun. Pure."""

import logging
from datetime import timedelta
from typing import Final

from hub.timetable.moments import MAX_MS, MIN_MS, Moments
from hub.timetable.spells import Change, changes, occurrences
from schemas import TimedTake, Venue
from schemas.bounds import MAX_TIMED_TAKES

DAY_MS: Final = 86_400_000
_LOOK_BACK_DAYS: Final = (2, 8, 32, 128, 512)
"""How far back the change that brought what is on now is looked for: a year's one evening is found, too."""

_log = logging.getLogger(__name__)


def timed_takes(
    venue: Venue, from_ms: int, days: int = 8, left_out: frozenset[str] = frozenset()
) -> tuple[TimedTake, ...]:
    """What the timetable takes: first what is on at `from_ms`, then each change up to the midnight after `days` days.

    Entries whose id is in `left_out` count as absent. Each occurrence of an entry is a take, the same scene or not, for
    it ends what a person took. Nothing on is darkness, with the fade of the entry that ended. Without entries, and
    before the first there ever was, there is nothing. At most MAX_TIMED_TAKES; a log line tells that more were cut.

    Raises InvalidError for a time outside of the years that `hub.timetable.sun` knows.
    """
    moments = Moments(venue)
    until_ms = min(MAX_MS, moments.midnight(moments.day(from_ms) + timedelta(days=days + 1)))
    takes = [_take(change) for change in changes_since(venue, left_out, moments, from_ms, until_ms - 1)]
    if len(takes) > MAX_TIMED_TAKES:
        _log.warning("timetable cut short venue=%s takes=%d kept=%d", venue.id, len(takes), MAX_TIMED_TAKES)
    return tuple(takes[:MAX_TIMED_TAKES])


def changes_since(venue: Venue, left_out: frozenset[str], moments: Moments, from_ms: int, to_ms: int) -> list[Change]:
    """The change that brought what is on at `from_ms`, if one did in the year before, then those up to `to_ms`."""
    for back_days in _LOOK_BACK_DAYS:
        since_ms = max(MIN_MS, from_ms - back_days * DAY_MS)
        found = occurrences(venue.timetable, left_out, moments, since_ms, to_ms)
        # Before `since_ms` not all are there, so what seems to change may not.
        known = [change for change in changes(found) if since_ms <= change.at_ms <= to_ms]
        earlier = [change for change in known if change.at_ms <= from_ms]
        if earlier:
            return known[len(earlier) - 1 :]
    return known


def _take(change: Change) -> TimedTake:
    if change.on is not None:
        return TimedTake(at_ms=change.at_ms, scene=change.on.entry.scene, fade_ms=change.on.entry.fade_ms)
    return TimedTake(at_ms=change.at_ms, scene=None, fade_ms=change.before.entry.fade_ms if change.before else 0)
