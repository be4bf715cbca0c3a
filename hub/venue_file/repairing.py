"""Takes what cannot be read out of a venue's raw values, so that the rest can still be checked and all be told at once.

A value that no reference check looks at gets a stand-in; otherwise the whole item (a supply, a node, a zone) leaves,
and its id is remembered, so that references to it are not called dangling.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import Any, Final

from hub.venue_file.fault import Unreadable, Where

COLLECTIONS: Final = MappingProxyType(
    {
        "pixel_types": "key",
        "supplies": "id",
        "nodes": "id",
        "zones": "id",
        "scenes": "id",
        "timetable": "id",
        "cue_lists": "id",
    }
)
STAND_INS: Final[Mapping[str | int, object]] = MappingProxyType(
    {
        "title": "-",
        "note": "",
        "sources": {"otherwise": "-"},
        "rated_a": 1.0,
        "derating": 0.8,
        "wire_mm2": 1.0,
        "length_m": 1.0,
        "pixels_per_m": 60.0,
        "frame_rate_limit_hz": None,
        "white_balance": {},
        "white_emitter_k": None,
        "white_point_k": None,
        "trim": 1.0,
        "master_level": 1.0,
        "path": [[0.0, 0.0], [1.0, 0.0]],
        "opacity": 1.0,
        "blend": "normal",
        "time_scale": 1.0,
        "phase_s": 0.0,
        "pattern": {"pattern": "wash", "colour": "#000000"},
        "mask": None,
        "tags": [],
        "network_switch": None,
        "powered_by": None,
        "place": {"latitude_deg": 0.0, "longitude_deg": 0.0},
        "time_zone": "UTC",
        "approves_rollouts": False,
        "fade_ms": 0,
        "rule": None,
        "except_dates": [],
        "follow_on_s": None,
        "flash_confirmed_by": None,
    }
)


@dataclass(slots=True)
class Repair:
    """The raw venue while it is being made readable. `value` is changed in place."""

    value: dict[str, Any]
    whole_collection_lost: bool = False
    lost: dict[str, set[str]] = field(default_factory=lambda: {name: set() for name in COLLECTIONS})
    _kept: dict[str, list[int]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in COLLECTIONS:
            if isinstance(items := self.value.get(name), list):
                self._kept[name] = list(range(len(items)))

    def original(self, where: Where) -> Where:
        """`where` in the repaired venue as the place in the file."""
        if len(where) >= 2 and where[0] in self._kept and isinstance(where[1], int):
            kept = self._kept[str(where[0])]
            if where[1] < len(kept):
                return (where[0], kept[where[1]], *where[2:])
        return where

    def unreadable(self) -> Unreadable:
        """Ids that something may refer to; nothing refers to entries of a timetable or to cue lists."""
        referred_to = {one.name for one in fields(Unreadable)}
        return Unreadable(**{name: frozenset(ids) for name, ids in self.lost.items() if name in referred_to})

    def mend(self, locations: Iterable[Where]) -> None:
        """Take or replace what stands at each of `locations`, which are those of the repaired venue."""
        leaving: dict[str, set[int]] = {}
        for where in locations:
            if self._replaced(where):
                continue
            if len(where) >= 2 and where[0] in self._kept and isinstance(where[1], int):
                leaving.setdefault(str(where[0]), set()).add(where[1])
            elif where:
                self._drop_top(str(where[0]))
        for name, places in leaving.items():
            self._leave(name, places)

    def remove_field(self, where: Where) -> None:
        """Take out a field that does not exist in the contract."""
        holder = self._holder(where)
        if isinstance(holder, dict):
            holder.pop(str(where[-1]), None)

    def blacken(self, where: Where) -> None:
        """Put a stand-in for a colour: no check looks at one, and the pattern around it stays what it is."""
        holder = self._holder(where)
        if isinstance(holder, dict):
            holder[str(where[-1])] = "#000000"

    def _replaced(self, where: Where) -> bool:
        """Whether the value, or one around it, could be replaced by a stand-in."""
        for place, part in enumerate(where):
            if part in STAND_INS:
                holder = self._holder(where[: place + 1])
                if isinstance(holder, dict):
                    holder[str(part)] = STAND_INS[str(part)]
                    return True
        return False

    def _holder(self, where: Where) -> object:
        """What holds the last part of `where`. Names that are not in the file are passed over."""
        holder: object = self.value
        for part in where[:-1]:
            in_list = isinstance(holder, list) and isinstance(part, int) and part < len(holder)
            if in_list or (isinstance(holder, dict) and part in holder):
                holder = holder[part]  # type: ignore[index]  # one of the two, by the line above
        return holder

    def _drop_top(self, name: str) -> None:
        if name == "id":
            self.value["id"] = "venue"
        else:
            self.value.pop(name, None)
            self._kept.pop(name, None)
            self.whole_collection_lost |= name in COLLECTIONS

    def _leave(self, name: str, places: set[int]) -> None:
        items = self.value[name]
        for place in places:
            item = items[place]
            identifier = item.get(COLLECTIONS[name]) if isinstance(item, dict) else None
            if isinstance(identifier, (str, int)):
                self.lost[name].add(str(identifier))
        kept = self._kept[name]
        self._kept[name] = [original for place, original in enumerate(kept) if place not in places]
        self.value[name] = [item for place, item in enumerate(items) if place not in places]
