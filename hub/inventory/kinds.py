"""The kinds of item that a venue is made of, and where each stands in it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

from schemas.contract import Contract
from schemas.pixel_type import PixelType
from schemas.scene import Scene
from schemas.timetable import CueList, TimetableEntry
from schemas.venue import Node, Supply, Venue, Zone

T = TypeVar("T", bound=Contract)


@dataclass(frozen=True, slots=True)
class Kind(Generic[T]):
    """A kind of item: its noun, the field of `Venue` that holds them, and the id of one."""

    noun: str
    collection: str
    contract: type[T]
    id_of: Callable[[T], str]

    def items(self, venue: Venue) -> tuple[T, ...]:
        found: tuple[T, ...] = getattr(venue, self.collection)
        return found


PIXEL_TYPES: Final = Kind("pixel type", "pixel_types", PixelType, lambda kind: kind.key)
SUPPLIES: Final = Kind("supply", "supplies", Supply, lambda supply: supply.id)
NODES: Final = Kind("node", "nodes", Node, lambda node: node.id)
ZONES: Final = Kind("zone", "zones", Zone, lambda zone: zone.id)
SCENES: Final = Kind("scene", "scenes", Scene, lambda scene: scene.id)
TIMETABLE_ENTRIES: Final = Kind("timetable entry", "timetable", TimetableEntry, lambda entry: entry.id)
CUE_LISTS: Final = Kind("cue list", "cue_lists", CueList, lambda cue_list: cue_list.id)
