"""JSON as plain values, bounded in depth; equal keys in one object are seen."""

import json
import re
from collections.abc import Iterable, Iterator
from typing import Final

from hub.errors import InvalidError, Mistake
from hub.validation import field_name
from hub.venue_file.document import MAX_DEPTH, Document
from hub.venue_file.fault import Where

_NAMED_DEPTH: Final = 8
_HALF_CHARACTER: Final = re.compile(rb"\\u[dD][89a-fA-F]")
_HALF: Final = re.compile(r"[\ud800-\udfff]")


def parse_json(data: bytes) -> Document:
    """The document in `data`, without lines. Raises InvalidError where it cannot be read at all."""
    mistakes: list[Mistake] = []

    def object_of(pairs: list[tuple[str, object]]) -> dict[str, object]:
        value: dict[str, object] = {}
        for key, part in pairs:
            if key in value:
                mistakes.append(Mistake(key, f"`{key}` stands twice in one object", "keep one of them"))
            value.setdefault(key, part)
        return value

    try:
        value = json.loads(data.decode("utf-8-sig"), object_pairs_hook=object_of)
    except (ValueError, RecursionError) as error:
        reason = f"it is not well-formed JSON: {error}"
        raise _unreadable(("file",), reason, "correct it") from error
    if where := _too_deep(value):
        raise _unreadable(where, f"it is nested more than {MAX_DEPTH} deep", "no part of a venue needs that depth")
    if _HALF_CHARACTER.search(data):
        for where, text in _texts(value, ()):
            if not text.isascii() and _HALF.search(text):
                raise _unreadable(where, "it holds half a character", "write the whole character, or leave it out")
    return Document(value, None, tuple(mistakes))


def _too_deep(value: object) -> Where:
    """The upper part of a way that leads too deep; empty where none does. Level by level: no recursion to exhaust."""
    level = [value]
    for _ in range(MAX_DEPTH + 1):
        level = [part for holder in level for _, part in _parts(holder) if isinstance(part, (dict, list))]
    if not level:
        return ()
    ways: list[tuple[Where, object]] = [((), value)]
    for depth in range(MAX_DEPTH + 1):
        ways = [
            ((*where, key) if depth < _NAMED_DEPTH else where, part)
            for where, holder in ways
            for key, part in _parts(holder)
        ]
    return ways[0][0]


def _texts(value: object, where: Where) -> Iterator[tuple[Where, str]]:
    """Every text within, keys too, and where it stands."""
    if isinstance(value, str):
        yield where, value
    for key, part in _parts(value):
        if isinstance(key, str):
            yield where, key
        yield from _texts(part, (*where, key))


def _parts(holder: object) -> Iterable[tuple[str | int, object]]:
    return holder.items() if isinstance(holder, dict) else enumerate(holder) if isinstance(holder, list) else ()


def _unreadable(where: Where, reason: str, remedy: str) -> InvalidError:
    return InvalidError("the venue cannot be read", [Mistake(field_name(where), reason, remedy)])
