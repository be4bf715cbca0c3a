"""Everything wrong with a venue beyond the shape of its parts: references, wiring, zones, scenes, times. Pure."""

from collections.abc import Iterator, Sequence

from hub.errors import InvalidError, Mistake
from hub.venue_file.fault import Fault, Unreadable
from hub.venue_file.index import VenueIndex
from hub.venue_file.scene_checks import scene_faults
from hub.venue_file.size_checks import size_faults
from hub.venue_file.timetable_checks import timetable_faults
from hub.venue_file.wiring_checks import wiring_faults
from hub.venue_file.zone_checks import zone_faults
from schemas.pixel_catalogue import PIXEL_CATALOGUE
from schemas.venue import Venue


def find_faults(venue: Venue, unreadable: Unreadable | None = None) -> list[Fault]:
    """All faults of `venue`, in its order. `unreadable` names ids that were given but whose items are not in it."""
    index = VenueIndex.of(venue, unreadable or Unreadable())
    faults = [
        *_id_faults(venue),
        *wiring_faults(index),
        *zone_faults(index),
        *scene_faults(index),
        *timetable_faults(index),
    ]
    return faults or list(size_faults(venue))


def check_venue(venue: Venue) -> list[Mistake]:
    """All mistakes of `venue`; without lines, for it comes from no file."""
    return [fault.mistake() for fault in find_faults(venue)]


def require_consistent(venue: Venue) -> None:
    """Raise InvalidError with every mistake, unless there is none."""
    mistakes = check_venue(venue)
    if mistakes:
        raise InvalidError(f"the venue has {len(mistakes)} mistake{'' if len(mistakes) == 1 else 's'}", mistakes)


def _id_faults(venue: Venue) -> Iterator[Fault]:
    yield from _repeats("pixel_types", "key", [kind.key for kind in venue.pixel_types])
    for place, kind in enumerate(venue.pixel_types):
        if kind.key in PIXEL_CATALOGUE:
            yield Fault(
                ("pixel_types", place, "key"),
                f"the catalogue has a pixel type {kind.key!r} already",
                "choose another key, or use the catalogue's and leave this one out",
            )
        if kind.sources is None:
            yield Fault(
                ("pixel_types", place),
                f"the pixel type {kind.key!r} does not say where its values come from",
                "add `sources: {otherwise: ...}`: the data sheet and its issue, or measured and when",
            )
    yield from _repeats("supplies", "id", [supply.id for supply in venue.supplies])
    yield from _repeats("nodes", "id", [node.id for node in venue.nodes])
    yield from _repeats("zones", "id", [zone.id for zone in venue.zones])
    yield from _repeats("scenes", "id", [scene.id for scene in venue.scenes])
    yield from _repeats("timetable", "id", [entry.id for entry in venue.timetable])
    yield from _repeats("cue_lists", "id", [cue_list.id for cue_list in venue.cue_lists])


def _repeats(collection: str, key: str, values: Sequence[str]) -> Iterator[Fault]:
    first: dict[str, int] = {}
    for place, value in enumerate(values):
        if value in first:
            yield Fault(
                (collection, place, key),
                f"the {key} {value!r} is taken by {collection}[{first[value]}]",
                f"give each its own {key}",
            )
        first.setdefault(value, place)
