"""JSON as plain values; equal keys in one object are seen. Python's parser, which bounds its own depth."""

import json

from hub.errors import InvalidError, Mistake
from hub.venue_file.document import Document


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
        raise InvalidError("the venue cannot be read", [Mistake("file", reason, "correct it")]) from error
    return Document(value, None, tuple(mistakes))
