"""What the timetable says of spells, days and the sun, in words."""

from collections.abc import Mapping
from datetime import date
from typing import Final

from hub.timetable.days import Rank, rank_of
from hub.timetable.moments import Moments
from hub.timetable.spells import Change, Occurrence
from hub.timetable.view import Moment, Spell, SunTimes
from schemas import Venue
from schemas.timetable import TimetableEntry

_RANK_WINS: Final[Mapping[tuple[Rank, Rank], str]] = {
    (Rank.DATES, Rank.RANGE): "dates of its own win over a range of days",
    (Rank.DATES, Rank.ANY_DAY): "dates of its own win over days without a range",
    (Rank.RANGE, Rank.ANY_DAY): "a range of days wins over days without one",
}


class Words:
    """Words about one venue."""

    def __init__(self, venue: Venue, moments: Moments) -> None:
        self._moments = moments
        self._has_place = venue.place is not None
        self._titles = {scene.id: scene.title for scene in venue.scenes}

    def moment(self, at_ms: int) -> Moment:
        return Moment(at_ms=at_ms, local=self._moments.local(at_ms).isoformat(timespec="seconds"))

    def clock(self, at_ms: int) -> str:
        """Such as Fri 27 Nov 2026 18:30:00."""
        return f"{self._moments.local(at_ms):%a %d %b %Y %H:%M:%S}"

    def scene_title(self, scene: str | None) -> str | None:
        return None if scene is None else self._titles.get(scene)

    def spell(self, on: Occurrence, began: Change | None = None, ended: Change | None = None) -> Spell:
        """An occurrence while it is on: from `began`, or from its own begin, to `ended`, or to its own end."""
        begins_ms = on.begins_ms if began is None else began.at_ms
        ends_ms = on.ends_ms if ended is None else ended.at_ms
        before = began.before if began is not None and begins_ms != on.begins_ms else None
        after = ended.on if ended is not None and ends_ms != on.ends_ms else None
        return Spell(
            entry=on.entry.id,
            title=on.entry.title,
            scene=on.entry.scene,
            scene_title=self.scene_title(on.entry.scene),
            day=on.day,
            begins=self.moment(begins_ms),
            ends=self.moment(ends_ms),
            begins_as=on.entry.begins if before is None else f"end of {before.entry.id}",
            ends_as=on.entry.ends if after is None else f"begin of {after.entry.id}",
            because=because(on.entry, on.day),
        )

    def sun(self, day: date) -> SunTimes | None:
        """The sun on a local date; None where the venue states no place."""
        if not self._has_place:
            return None
        sun = self._moments.sun(day)
        told: list[str] = []
        moments: list[Moment | None] = []
        for name, at_ms, happens, above_at_noon in (
            ("civil dawn", sun.civil.up_ms, sun.civil.comes_up, sun.civil.above_at_noon),
            ("sunrise", sun.day.up_ms, sun.day.comes_up, sun.day.above_at_noon),
            ("sunset", sun.day.down_ms, sun.day.goes_down, sun.day.above_at_noon),
            ("civil dusk", sun.civil.down_ms, sun.civil.goes_down, sun.civil.above_at_noon),
        ):
            time = f"{self._moments.local(at_ms):%H:%M:%S}"
            where = "lowest" if above_at_noon else "highest"
            told.append(f"{name} {time}" if happens else f"no {name}: it counts as {time}, the sun at its {where}")
            moments.append(self.moment(at_ms) if happens else None)
        civil_dawn, sunrise, sunset, civil_dusk = moments
        return SunTimes(
            civil_dawn=civil_dawn,
            sunrise=sunrise,
            noon=self.moment(sun.noon_ms),
            sunset=sunset,
            civil_dusk=civil_dusk,
            told="; ".join(told),
        )


def in_words(scene: str | None) -> str:
    """A scene by its id, or darkness."""
    return "darkness" if scene is None else f"scene {scene}"


def because(entry: TimetableEntry, day: date) -> str:
    """Why an entry has a day, such as `Friday is one of its weekdays`."""
    if entry.dates:
        return f"{day} is one of its dates"
    if entry.rule is not None:
        how = f"{day} is a day of its rule {entry.rule}"
    elif entry.weekdays:
        how = f"{day:%A} is one of its weekdays"
    else:
        how = "it has every day"
    bounds = (("from", entry.first_day), ("to", entry.last_day))
    return " ".join([how, *(f"{word} {bound}" for word, bound in bounds if bound is not None)])


def wins_because(winner: Occurrence, loser: Occurrence) -> str:
    """Why one of two occurrences that overlap is on and not the other."""
    if winner.entry is loser.entry:
        return "the day that begins later wins"
    ranks = rank_of(winner.entry), rank_of(loser.entry)
    return _RANK_WINS.get(ranks, "of equals the one further down in the timetable wins")
