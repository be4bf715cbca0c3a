"""A month of the timetable: for each local day what is on when, the sun, and what is out of the ordinary. Pure."""

import calendar
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from hub.errors import InvalidError, Mistake
from hub.timetable.compile import DAY_MS, changes_since
from hub.timetable.days import days_of
from hub.timetable.hours import hours_of
from hub.timetable.moments import MAX_MS, MIN_MS, Moments
from hub.timetable.spells import Change
from hub.timetable.sun import FIRST_YEAR, LAST_YEAR
from hub.timetable.view import CalendarDay, CalendarMonth, LeftOut, Spell
from hub.timetable.wording import Words
from schemas import Venue

_HOUR_MS: Final = 3_600_000
_LONGEST_SPELL_DAYS: Final = 4


def month_of(venue: Venue, year: int, month: int, left_out: Mapping[str, str] | None = None) -> CalendarMonth:
    """The calendar of a month; `left_out` as in `explain`. Raises InvalidError for a year that is not known."""
    if not FIRST_YEAR <= year <= LAST_YEAR:
        reason = f"timetables are known for the years {FIRST_YEAR} to {LAST_YEAR}"
        raise InvalidError(reason, [Mistake("query.month", reason, "ask for a month within, such as 2031-05")])
    out = {entry.id: left_out[entry.id] for entry in venue.timetable if left_out and entry.id in left_out}
    moments = Moments(venue)
    words = Words(venue, moments)
    days = [date(year, month, 1) + timedelta(days=count) for count in range(calendar.monthrange(year, month)[1])]
    midnights_ms = [moments.midnight(day) for day in (*days, days[-1] + timedelta(days=1))]
    spells = _spells(venue, frozenset(out), moments, words, midnights_ms[0], midnights_ms[-1])
    not_happening = _not_happening(venue, frozenset(out), moments, days)
    return CalendarMonth(
        month=f"{year:04}-{month:02}",
        time_zone=venue.time_zone,
        days=[
            CalendarDay(
                day=day,
                spells=[one for one in spells if one.begins.at_ms < ends_ms and one.ends.at_ms > begins_ms],
                sun=words.sun(day),
                notes=[*_clock_notes(moments, begins_ms, ends_ms), *not_happening.get(day, ())],
            )
            for day, (begins_ms, ends_ms) in zip(days, pairwise(midnights_ms), strict=True)
        ],
        left_out=[LeftOut(entry=entry, reason=reason) for entry, reason in out.items()],
    )


def spells_of(changes: Sequence[Change], words: Words) -> list[Spell]:
    """What is on between changes that follow one another; the last of them only ends."""
    return [words.spell(began.on, began, ended) for began, ended in pairwise(changes) if began.on is not None]


def _spells(
    venue: Venue, left_out: frozenset[str], moments: Moments, words: Words, from_ms: int, to_ms: int
) -> list[Spell]:
    until_ms = min(MAX_MS - 1, to_ms + _LONGEST_SPELL_DAYS * DAY_MS)
    return spells_of(changes_since(venue, left_out, moments, max(MIN_MS, from_ms), until_ms), words)


def _clock_notes(moments: Moments, begins_ms: int, ends_ms: int) -> list[str]:
    hours = (ends_ms - begins_ms) / _HOUR_MS
    if hours == 24:
        return []
    before, after = (moments.local(max(MIN_MS, at_ms)).strftime("%z") for at_ms in (begins_ms, ends_ms - 1))
    return [f"clocks change from UTC{before} to UTC{after}: the day has {hours:g} hours"]


def _not_happening(
    venue: Venue, left_out: frozenset[str], moments: Moments, days: Sequence[date]
) -> dict[date, list[str]]:
    """Entries that name a day and have no length on it."""
    notes: dict[date, list[str]] = {}
    for entry in venue.timetable:
        if entry.id in left_out:
            continue
        for day in days_of(entry, days[0], days[-1]):
            if hours_of(entry, day, moments) is None:
                notes.setdefault(day, []).append(
                    f"{entry.id} does not happen: this day has no time from {entry.begins} to {entry.ends}"
                )
    return notes
