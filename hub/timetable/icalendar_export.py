"""The coming year of a timetable as an iCalendar file (RFC 5545; its name and description by RFC 7986)."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Final

from icalendar import TRANSP, Calendar, Event

from hub.timetable.compile import DAY_MS, changes_since
from hub.timetable.moments import MAX_MS, Moments
from hub.timetable.month import spells_of
from hub.timetable.view import Spell
from hub.timetable.wording import Words, in_words
from schemas import Venue

MAX_EVENTS: Final = 4_000
_PRODUCT: Final = "-//Stringcourse//Timetable//EN"


def calendar_of(venue: Venue, from_ms: int, days: int, left_out: Mapping[str, str] | None = None) -> bytes:
    """What is on from `from_ms` for so many days, an event a spell, at most MAX_EVENTS; darkness by itself is none.

    Instants are UTC: sun moments and precedence follow no recurrence rule, and every calendar has its own clock.
    Raises InvalidError for a time outside of the years that `hub.timetable.sun` knows.
    """
    moments = Moments(venue)
    words = Words(venue, moments)
    until_ms = min(MAX_MS - 1, from_ms + days * DAY_MS)
    changes = changes_since(venue, frozenset(left_out or ()), moments, from_ms, until_ms)
    spells = [one for one in spells_of(changes, words) if one.ends.at_ms > from_ms]
    told = f"What the timetable has on until {moments.local(until_ms):%Y-%m-%d}."
    if len(spells) > MAX_EVENTS:
        spells = spells[:MAX_EVENTS]
        told = f"What the timetable has on, cut after {MAX_EVENTS} events, on {spells[-1].ends.local[:10]}."
    if left_out:
        told += f" Left out: {', '.join(left_out)}."
    stamp = _utc(from_ms)
    # Not by `Calendar.new`, which writes names of a vendor's own beside these.
    calendar = Calendar()
    for name, value in (
        ("prodid", _PRODUCT),
        ("version", "2.0"),
        ("uid", f"timetable@{venue.id}"),
        ("name", f"{venue.title}: timetable"),
        ("description", told),
    ):
        calendar.add(name, value)
    for spell in spells:
        calendar.add_component(_event(venue.id, spell, stamp))
    written: bytes = calendar.to_ical()
    return written


def _event(venue: str, spell: Spell, stamp: datetime) -> Event:
    """Its UID stays the same from one export to the next, so that a calendar that reads both has it once."""
    return Event.new(
        uid=f"{spell.begins.at_ms // 1_000}-{spell.entry}@{venue}",
        stamp=stamp,
        start=_utc(spell.begins.at_ms),
        end=_utc(spell.ends.at_ms),
        summary=spell.scene_title or in_words(spell.scene),
        description=f"{spell.title or spell.entry}: {spell.begins_as} to {spell.ends_as}; {spell.because}",
        transparency=TRANSP.TRANSPARENT,
    )


def _utc(at_ms: int) -> datetime:
    return datetime.fromtimestamp(at_ms / 1_000, UTC).replace(microsecond=0)
