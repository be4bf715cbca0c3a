"""When scenes are on: a timetable of entries by day and time, and cue lists for an evening that is run by hand.

Times of day are the venue's local time (`Venue.time_zone`) or moments of the sun at its place. `hub.timetable` says
what they mean; a board gets timed takes and needs neither calendar nor sun.
"""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field, StringConstraints, model_validator

from schemas.bounds import MAX_CUES, MAX_DATES_PER_ENTRY, MAX_RULE
from schemas.contract import Contract, Id, Title
from schemas.fade import FadeMs

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
SUN_MOMENTS = ("civil dawn", "sunrise", "sunset", "civil dusk")
TimeOfDay = Annotated[
    str,
    StringConstraints(
        pattern=r"^(?:(?:[01][0-9]|2[0-3]):[0-5][0-9]"
        r"|(?:civil dawn|sunrise|sunset|civil dusk)(?: [+-] (?:[1-9][0-9]?|[1-6][0-9]{2}|7[01][0-9]|720) min)?)$",
        max_length=24,
    ),
    Field(
        description="Local time such as '18:30', or a moment of the sun, such as 'sunset' or 'civil dusk + 20 min' "
        "(up to 720 min): civil dawn, sunrise, sunset, civil dusk."
    ),
]
Dates = Annotated[tuple[date, ...], Field(max_length=MAX_DATES_PER_ENTRY)]
TimeZoneName = Annotated[
    str,
    StringConstraints(pattern=r"^[A-Za-z][A-Za-z0-9_+-]*(?:/[A-Za-z0-9_+-]+){0,2}$", max_length=64),
    Field(description="A name of the IANA time zone database, such as Europe/Vienna."),
]

ConfirmedBy = Annotated[
    Title | None,
    Field(description="Who confirms that the scene may go out although it fails the flash check; else not needed."),
]


class Place(Contract):
    """Where the venue stands, for the sun: WGS 84 degrees, north and east positive."""

    latitude_deg: Annotated[float, Field(ge=-90, le=90)]
    longitude_deg: Annotated[float, Field(ge=-180, le=180)]


class TimetableEntry(Contract):
    """A scene, or darkness, that is on from one time of day to another, on the days that the entry names.

    Its days are `dates`; or days of the week, a rule or every day, within `first_day` and `last_day` where they are
    given, without `except_dates`. An entry whose end is not after its begin ends on the next day; but where both are
    plainly meant for one day (sunrise to sunset, civil dusk to 22:00) it does not happen on a day without such a time.

    Where entries overlap, dates win over a range (`first_day`, `last_day`), a range over the rest, and of equals the
    one further down.
    """

    id: Id
    title: Title | None = None
    scene: Annotated[Id | None, Field(description="Null is darkness.")] = None
    begins: TimeOfDay
    ends: TimeOfDay
    fade_ms: FadeMs = 3_000
    dates: Dates = ()
    weekdays: Annotated[tuple[Weekday, ...], Field(max_length=7)] = ()
    rule: Annotated[
        str | None,
        StringConstraints(pattern=r"^[A-Z0-9=;,+-]+$", max_length=MAX_RULE),
        Field(description="A recurrence of days by RFC 5545, such as FREQ=MONTHLY;BYDAY=1FR; it starts at first_day."),
    ] = None
    first_day: date | None = None
    last_day: date | None = None
    except_dates: Dates = ()
    flash_confirmed_by: ConfirmedBy = None

    @model_validator(mode="after")
    def _names_its_days_once(self) -> "TimetableEntry":
        if sum((bool(self.dates), bool(self.weekdays), self.rule is not None)) > 1:
            raise ValueError("an entry names its days by one of `dates`, `weekdays` and `rule`")
        if self.dates and (self.first_day or self.last_day):
            raise ValueError("`dates` stand by themselves: leave `first_day` and `last_day` out")
        if self.rule is not None and self.first_day is None:
            raise ValueError("a `rule` counts from `first_day`: state it")
        if self.first_day and self.last_day and self.last_day < self.first_day:
            raise ValueError("`last_day` is before `first_day`")
        return self


class Cue(Contract):
    """A scene to take, with its fade; with `follow_on_s` the next cue is taken by itself so long after it."""

    id: Id
    title: Title | None = None
    scene: Annotated[Id | None, Field(description="Null is darkness.")] = None
    fade_ms: FadeMs = 1_500
    follow_on_s: Annotated[
        float | None, Field(ge=1, le=86_400, description="Seconds from its take to the take of the next cue.")
    ] = None
    flash_confirmed_by: ConfirmedBy = None


class CueList(Contract):
    """Cues of an evening in their order: each `go` takes the next one."""

    id: Id
    title: Title
    cues: Annotated[tuple[Cue, ...], Field(min_length=1, max_length=MAX_CUES)]
