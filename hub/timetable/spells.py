"""What is on when: entries on their days as stretches of show time, and the changes between them. Pure."""

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from hub.timetable.days import days_of, rank_of
from hub.timetable.hours import hours_of
from hub.timetable.moments import Moments
from schemas.timetable import TimetableEntry

_MOST_DAYS_BEFORE: Final = 4
_MOST_DAYS_AFTER: Final = 2
"""How far an entry can reach from the day that names it: an end up to 720 min after a sunset of the next day."""


@dataclass(frozen=True, slots=True)
class Occurrence:
    """An entry on one of its days."""

    entry: TimetableEntry
    day: date
    begins_ms: int
    ends_ms: int
    precedence: tuple[int, int, int]
    """The highest of those that overlap is on: rank of its days, place in the timetable, begin."""


@dataclass(frozen=True, slots=True)
class Change:
    """At `at_ms` one occurrence, or nothing, gives way to another."""

    at_ms: int
    before: Occurrence | None
    on: Occurrence | None


def occurrences(
    timetable: Iterable[TimetableEntry], left_out: frozenset[str], moments: Moments, from_ms: int, to_ms: int
) -> list[Occurrence]:
    """All that are on at some time from `from_ms` to `to_ms`, entries `left_out` aside; in no order."""
    from_day = moments.day(from_ms) - timedelta(days=_MOST_DAYS_BEFORE)
    to_day = moments.day(to_ms) + timedelta(days=_MOST_DAYS_AFTER)
    found: list[Occurrence] = []
    for place, entry in enumerate(timetable):
        if entry.id in left_out:
            continue
        rank = rank_of(entry)
        for day in days_of(entry, from_day, to_day):
            times = hours_of(entry, day, moments)
            if times is not None and times[1] >= from_ms and times[0] <= to_ms:
                found.append(Occurrence(entry, day, *times, (rank, place, times[0])))
    return found


def changes(of: Iterable[Occurrence]) -> Iterator[Change]:
    """Every change of what is on, in order of time; none is at the same time as another."""
    coming = sorted(of, key=lambda one: one.begins_ms)
    instants = sorted({at_ms for one in coming for at_ms in (one.begins_ms, one.ends_ms)})
    begun: list[tuple[tuple[int, ...], Occurrence]] = []
    place, on = 0, None
    for at_ms in instants:
        while place < len(coming) and coming[place].begins_ms <= at_ms:
            one = coming[place]
            heapq.heappush(begun, (tuple(-part for part in one.precedence), one))
            place += 1
        while begun and begun[0][1].ends_ms <= at_ms:
            heapq.heappop(begun)
        now_on = begun[0][1] if begun else None
        if now_on is not on:
            yield Change(at_ms, on, now_on)
            on = now_on
