"""Lists and groups that are longer than any contract allows are cut and told once, before each of their items is."""

from typing import Any, Final

from hub.errors import Mistake
from hub.statements.stated import stated_fields
from hub.validation import field_name
from hub.venue_file.document import Document
from hub.venue_file.fault import Where
from schemas.venue import Venue

SURELY_SHORT: Final = 64
"""No group has more fields, and the shortest bounds of lists are not worth a look."""


def cut_long_lists(document: Document) -> list[Mistake]:
    """Cuts `document.value` in place, from the outside in, so that what is cut is not looked through."""
    stated = stated_fields(Venue)
    mistakes: list[Mistake] = []
    left: list[tuple[Where, Any]] = [((), document.value)]
    while left:
        where, value = left.pop()
        if len(value) > SURELY_SHORT:
            is_list = isinstance(value, list)
            most = stated.at(where, document.value).get("maxItems", len(value)) if is_list else SURELY_SHORT
            if len(value) > most:
                things = "items" if is_list else "fields"
                reason, remedy = f"it has {len(value)} {things}", f"write at most {most} {things}"
                mistakes.append(Mistake(field_name(where), reason, remedy, document.line_of(where)))
                _cut(value, most)
        parts = value.items() if isinstance(value, dict) else enumerate(value)
        left.extend(((*where, key), part) for key, part in parts if isinstance(part, (dict, list)))
    return mistakes


def _cut(value: dict[str, Any] | list[Any], most: int) -> None:
    if isinstance(value, list):
        del value[most:]
    else:
        for name in list(value)[most:]:
            del value[name]
