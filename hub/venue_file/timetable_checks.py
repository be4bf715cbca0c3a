"""Checks of when scenes are on: time zone, place, timetable, cue lists."""

from collections.abc import Iterator
from functools import cache
from importlib.resources import files

from hub.desired.work_light import WORK_LIGHT
from hub.timetable.rule import RuleError, check_rule
from hub.venue_file.fault import Fault, Where
from hub.venue_file.index import VenueIndex
from schemas.timetable import SUN_MOMENTS, CueList, TimetableEntry


def timetable_faults(index: VenueIndex) -> Iterator[Fault]:
    """Everything wrong with the venue's time zone, timetable and cue lists."""
    yield from _time_zone_faults(index)
    for place, entry in enumerate(index.venue.timetable):
        where: Where = ("timetable", place)
        yield from _scene_faults(entry.scene, where, index)
        yield from _sun_faults(entry, where, index)
        yield from _day_faults(entry, where)
    for place, cue_list in enumerate(index.venue.cue_lists):
        yield from _cue_faults(cue_list, ("cue_lists", place), index)


@cache
def time_zone_names() -> frozenset[str]:
    """Names of the IANA time zone database, as the package `tzdata` holds it."""
    return frozenset((files("tzdata") / "zones").read_text(encoding="utf-8").split())


def _time_zone_faults(index: VenueIndex) -> Iterator[Fault]:
    name = index.venue.time_zone
    if name in time_zone_names():
        return
    guess = index.nearest.among(name, time_zone_names())
    yield Fault(
        ("time_zone",),
        f"the IANA time zone database has no zone {name!r}",
        f"did you mean {guess!r}?" if guess else "use a name such as Europe/Vienna, or UTC",
    )


def _scene_faults(scene: str | None, where: Where, index: VenueIndex) -> Iterator[Fault]:
    if scene not in (None, WORK_LIGHT) and scene not in index.names["scene"]:
        yield Fault(
            (*where, "scene"),
            f"there is no scene {scene!r}",
            index.remedy_for_dangling(scene, "scene"),
        )


def _sun_faults(entry: TimetableEntry, where: Where, index: VenueIndex) -> Iterator[Fault]:
    if index.venue.place is not None:
        return
    for field, time in (("begins", entry.begins), ("ends", entry.ends)):
        if time.startswith(SUN_MOMENTS):
            yield Fault(
                (*where, field),
                f"{time!r} depends on where the venue stands, and the venue states no place",
                "add `place: {latitude_deg: ..., longitude_deg: ...}` to the venue, or give a time such as '18:30'",
            )


def _day_faults(entry: TimetableEntry, where: Where) -> Iterator[Fault]:
    for field in ("dates", "weekdays", "except_dates"):
        listed = [str(day) for day in getattr(entry, field)]
        for place, day in enumerate(listed):
            if day in listed[:place]:
                yield Fault((*where, field, place), f"{day} is listed twice", "keep one of them")
    if entry.rule is not None and entry.first_day is not None:
        try:
            check_rule(entry.rule, entry.first_day)
        except RuleError as error:
            yield Fault((*where, "rule"), error.reason, error.remedy)
    for place, date in enumerate(entry.except_dates):
        if entry.dates and date not in entry.dates:
            yield Fault(
                (*where, "except_dates", place), f"{date} is not among the dates of the entry", "leave it out here"
            )


def _cue_faults(cue_list: CueList, where: Where, index: VenueIndex) -> Iterator[Fault]:
    first: dict[str, int] = {}
    for place, cue in enumerate(cue_list.cues):
        here = (*where, "cues", place)
        if cue.id in first:
            yield Fault(
                (*here, "id"), f"the id {cue.id!r} is taken by cues[{first[cue.id]}]", "give each cue of a list its own"
            )
        first.setdefault(cue.id, place)
        yield from _scene_faults(cue.scene, here, index)
    if cue_list.cues[-1].follow_on_s is not None:
        yield Fault(
            (*where, "cues", len(cue_list.cues) - 1, "follow_on_s"),
            "no cue follows the last one of its list",
            "leave it out, or add the cue that is to follow",
        )
