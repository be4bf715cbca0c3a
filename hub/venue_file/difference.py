"""What will change between two venues: items added, removed and changed, field by field. Pure."""

from collections.abc import Iterator, Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Annotated, Any, Final

from pydantic import BaseModel, ConfigDict, Field

from hub.validation import field_name
from schemas.venue import Venue

COLLECTIONS: Final = MappingProxyType(
    {
        "pixel_types": ("pixel type", "key"),
        "supplies": ("supply", "id"),
        "nodes": ("node", "id"),
        "zones": ("zone", "id"),
        "scenes": ("scene", "id"),
        "timetable": ("timetable entry", "id"),
        "cue_lists": ("cue list", "id"),
    }
)
_MISSING: Final = object()


class ChangeKind(StrEnum):
    """What happens to an item."""

    ADDED = "added"
    REMOVED = "removed"
    CHANGED = "changed"


class FieldChange(BaseModel):
    """One field before and after; null where it is not there."""

    model_config = ConfigDict(frozen=True)

    field: Annotated[str, Field(description="Within the item, such as `channels[0].run.pixels`.")]
    before: Any = None
    after: Any = None


class Change(BaseModel):
    """What happens to one item of the venue, or to the venue's own fields."""

    model_config = ConfigDict(frozen=True)

    kind: ChangeKind
    noun: Annotated[str, Field(description="venue, pixel type, supply, node, zone, scene, timetable entry or cue list")]
    id: str
    fields: Annotated[list[FieldChange], Field(description="Where it is changed: each field.")] = []


def difference(before: Venue | None, after: Venue) -> list[Change]:
    """Changes that turn `before` into `after`; none where they are equal. No `before`: the venue is new."""
    if before is None:
        return [Change(kind=ChangeKind.ADDED, noun="venue", id=after.id), *_items(None, after)]
    own = [*_fields(_own(before), _own(after)), *_orders(before, after)]
    changes = [Change(kind=ChangeKind.CHANGED, noun="venue", id=after.id, fields=own)] if own else []
    return [*changes, *_items(before, after)]


def _own(venue: Venue) -> dict[str, Any]:
    return venue.model_dump(mode="json", exclude=set(COLLECTIONS))


def _orders(before: Venue, after: Venue) -> Iterator[FieldChange]:
    """Collections whose items stand in another order, added and removed ones left aside."""
    for collection, (_, key) in COLLECTIONS.items():
        old = [getattr(item, key) for item in getattr(before, collection)]
        new = [getattr(item, key) for item in getattr(after, collection)]
        both = set(old).intersection(new)
        if [one for one in old if one in both] != [one for one in new if one in both]:
            yield FieldChange(field=collection, before="in their order", after="in another order")


def _items(before: Venue | None, after: Venue) -> Iterator[Change]:
    for collection, (noun, key) in COLLECTIONS.items():
        old = {getattr(item, key): item for item in getattr(before, collection, ())}
        new = {getattr(item, key): item for item in getattr(after, collection)}
        for identifier in old:
            if identifier not in new:
                yield Change(kind=ChangeKind.REMOVED, noun=noun, id=identifier)
        for identifier, item in new.items():
            if identifier not in old:
                yield Change(kind=ChangeKind.ADDED, noun=noun, id=identifier)
            elif item != old[identifier]:
                fields = list(_fields(old[identifier].model_dump(mode="json"), item.model_dump(mode="json")))
                yield Change(kind=ChangeKind.CHANGED, noun=noun, id=identifier, fields=fields)


def _fields(before: object, after: object, where: tuple[str | int, ...] = ()) -> Iterator[FieldChange]:
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        for name in dict.fromkeys((*before, *after)):
            yield from _fields(before.get(name, _MISSING), after.get(name, _MISSING), (*where, name))
    elif isinstance(before, list) and isinstance(after, list):
        for place in range(max(len(before), len(after))):
            yield from _fields(
                before[place] if place < len(before) else _MISSING,
                after[place] if place < len(after) else _MISSING,
                (*where, place),
            )
    elif before != after:
        yield FieldChange(
            field=field_name(where),
            before=None if before is _MISSING else before,
            after=None if after is _MISSING else after,
        )
