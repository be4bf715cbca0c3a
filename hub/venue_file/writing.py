"""A venue as the YAML that a person would write: defaults left out, short groups on one line, few quotes.

Loading what is written gives the same venue again. Written here and not by ruamel.yaml, whose emitter needs ten seconds
for a thousand nodes; what is needed of YAML is small: groups, lists, numbers, and text that is plain or JSON-quoted.
"""

import json
import re
from collections.abc import Iterable, Iterator
from typing import Any, Final

from schemas.pixel_type import PixelType
from schemas.venue import Venue

LINE: Final = 120
DEEPEST_ON_A_LINE: Final = 3
COLLECTIONS: Final = ("pixel_types", "supplies", "nodes", "zones", "scenes", "timetable", "cue_lists")
_PLAIN: Final = re.compile(r"[A-Za-z(](?:[A-Za-z0-9()._/%+°²µ×–-]| (?! ))*[A-Za-z0-9)._%°²-]|[A-Za-z]")
# Words that some reader of YAML takes for something else than text.
_TAKEN: Final = re.compile(r"(?i)null|true|false|yes|no|on|off|y|n|nan|inf")


def write_venue(venue: Venue) -> str:
    """The venue file of `venue`."""
    lines: list[str] = []
    for name, value in venue.model_dump(mode="json", exclude_defaults=True).items():
        if name in COLLECTIONS:
            lines.append("")
            lines.append(f"{name}:")
            lines.extend(f"  {line}" for item in value for line in _in_list(item, LINE - 2))
        else:
            lines.extend(_field(name, value, LINE))
    return "\n".join(lines) + "\n"


def write_pixel_types(kinds: Iterable[PixelType]) -> str:
    """The block `pixel_types` of a venue file."""
    items = [kind.model_dump(mode="json", exclude_defaults=True) for kind in kinds]
    return "\n".join(["pixel_types:", *(f"  {line}" for item in items for line in _in_list(item, LINE - 2))]) + "\n"


def write_layers(layers: Iterable[dict[str, Any]]) -> str:
    """Layers as they stand below `layers:` of a scene."""
    return "\n".join(line for layer in layers for line in _in_list(layer, LINE)) + "\n"


def on_one_line(value: Any) -> str:  # noqa: ANN401 (any JSON value)
    """A value as YAML in flow style, with as few quotes as it takes."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{name}: {on_one_line(part)}" for name, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(on_one_line, value)) + "]"
    if isinstance(value, str):
        return value if _PLAIN.fullmatch(value) and not _TAKEN.fullmatch(value) else _quoted(value)
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return json.dumps(value)


def _block(value: dict[str, Any] | list[Any], room: int) -> Iterator[str]:
    """`value` over several lines, each at most `room` wide where its groups allow it."""
    if isinstance(value, dict):
        for name, part in value.items():
            yield from _field(name, part, room)
    else:
        for part in value:
            yield from _in_list(part, room)


def _field(name: str, value: Any, room: int) -> Iterator[str]:  # noqa: ANN401 (any JSON value)
    line = f"{name}: {on_one_line(value)}"
    if isinstance(value, str) and len(line) > room:
        first, *rest = _folded(value, room - len(f"{name}: "), room - 2)
        yield f"{name}: {first}"
        yield from (f"  {part}" for part in rest)
    elif not isinstance(value, (dict, list)) or not value or (_readson_one_line(value) and len(line) <= room):
        yield line
    else:
        yield f"{name}:"
        yield from (f"  {inner}" for inner in _block(value, room - 2))


def _in_list(value: Any, room: int) -> Iterator[str]:  # noqa: ANN401 (any JSON value)
    line = f"- {on_one_line(value)}"
    if not isinstance(value, (dict, list)) or not value or (_readson_one_line(value) and len(line) <= room):
        yield line
        return
    for place, inner in enumerate(_block(value, room - 2)):
        yield f"- {inner}" if place == 0 else f"  {inner}"


def _readson_one_line(value: Any) -> bool:  # noqa: ANN401 (any JSON value)
    """Whether `value` is simple enough for one line, be it ever so short: no run, and groups at most three deep."""
    return not (isinstance(value, dict) and "feeds" in value) and _depth(value) <= DEEPEST_ON_A_LINE


def _depth(value: Any) -> int:  # noqa: ANN401 (any JSON value)
    parts = value.values() if isinstance(value, dict) else value if isinstance(value, list) else None
    return 0 if parts is None else 1 + max(map(_depth, parts), default=0)


def _quoted(text: str) -> str:
    """YAML's double quotes: as JSON's, but what cannot be printed by its code point (JSON has surrogate pairs)."""
    return '"' + "".join(map(_escaped, text)) + '"'


def _folded(text: str, room: int, room_after: int) -> Iterator[str]:
    """A long text in double quotes over several lines: a break at a single space stands for it, others are escaped."""
    line, width, space = ['"'], 1, 0
    for place, character in enumerate(text):
        line.append(_escaped(character))
        width += len(line[-1])
        if character == " " and text[place - 1 : place].strip() and text[place + 1 : place + 2].strip():
            space = len(line)
        while width > room - 2:
            broken, line = (line[: space - 1], line[space:]) if space else ([*line[:-1], "\\"], line[-1:])
            yield "".join(broken)
            # White space that begins a line counts for nothing unless it is escaped.
            line[:1] = [f"\\{one}" if one == " " else one for one in line[:1]]
            width, space, room = sum(map(len, line)), 0, room_after
    yield "".join(line) + '"'


def _escaped(character: str) -> str:
    if character in '"\\':
        return f"\\{character}"
    if character.isprintable():
        return character
    return f"\\U{ord(character):08x}"
