"""The timetable as API, page and command line show it."""

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, Field

from schemas.bounds import MAX_TIMETABLE_ENTRIES
from schemas.contract import Contract
from schemas.timetable import TimetableEntry

Source = Literal["timetable", "hold", "follow-on", "nothing"]


class Timetable(Contract):
    """A venue's timetable."""

    entries: Annotated[
        tuple[TimetableEntry, ...],
        Field(
            max_length=MAX_TIMETABLE_ENTRIES,
            description="Where they overlap, dates win over a range of days, a range over the rest, and of equals the "
            "one further down.",
        ),
    ]


class Moment(BaseModel):
    """An instant, for machines and for people."""

    at_ms: int = Field(description="Show time, ms.")
    local: str = Field(description="By the clock at the venue, ISO 8601 with the offset from UTC.")


class SunTimes(BaseModel):
    """The sun on a day, over a flat horizon; null for what does not happen that day."""

    civil_dawn: Moment | None
    sunrise: Moment | None
    noon: Moment
    sunset: Moment | None
    civil_dusk: Moment | None
    told: str = Field(description="In a sentence; also what entries count by where the sun does not rise or set.")


class LeftOut(BaseModel):
    """An entry that counts as absent."""

    entry: str
    reason: str


class Spell(BaseModel):
    """A stretch of time for which an entry is on."""

    entry: str
    title: str | None
    scene: str | None = Field(description="Null is darkness.")
    scene_title: str | None
    day: date = Field(description="The day of the entry that it belongs to: the one on which it begins.")
    begins: Moment
    ends: Moment
    begins_as: str = Field(description="Why it begins then: the entry's begin as written, or what ended before.")
    ends_as: str
    because: str = Field(description="Why the entry has this day.")


class Next(BaseModel):
    """The next timed take."""

    at: Moment
    scene: str | None = Field(description="Null is darkness.")
    scene_title: str | None
    entry: str | None = Field(description="Null where an entry ends and none follows, or a cue does.")
    told: str


class Apart(BaseModel):
    """A node that a person gave another scene than the rest, until the next timed take."""

    node: str
    scene: str | None
    since: Moment


class Why(BaseModel):
    """Why a scene is on at an instant, and what is next."""

    at: Moment
    time_zone: str
    scene: str | None = Field(description="What is on; null is darkness.")
    scene_title: str | None
    source: Source = Field(
        description="What brought it: the timetable; a take by a person, which holds until the next timed take; a cue "
        "that followed by itself; or nothing."
    )
    since: Moment | None
    timetable_says: Spell | None = Field(description="The entry that is on by the timetable, held over or not.")
    over: list[Spell] = Field(description="Entries whose time it is as well, over which that one wins.")
    next: Next | None
    apart: list[Apart]
    boards_hold_until: Moment | None = Field(
        description="The last timed take that boards hold: so far they go on with neither hub nor network."
    )
    left_out: list[LeftOut]
    sun: SunTimes | None
    told: list[str] = Field(description="All of it in sentences.")


class CalendarDay(BaseModel):
    """A local day."""

    day: date
    spells: list[Spell] = Field(
        description="What is on for some of the day, in order; its begin and end may lie on other days. Between spells "
        "it is dark."
    )
    sun: SunTimes | None = Field(description="Null where the venue states no place.")
    notes: list[str] = Field(description="A change of clocks; entries that name the day and do not happen.")


class CalendarMonth(BaseModel):
    """A month of the timetable."""

    month: str = Field(description="YYYY-MM")
    time_zone: str
    days: list[CalendarDay]
    left_out: list[LeftOut]
