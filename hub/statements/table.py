"""Parameters as rows of a table, and a pattern's example as YAML to paste: for the command line and the docs."""

import json
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from hub.statements.language import PatternView
from hub.statements.parameter import ParameterKind, ParameterView
from hub.venue_file import on_one_line, write_layers
from schemas.pattern import PATTERNS

COLUMNS: Final = ("parameter", "range", "unit", "default", "what it does")
EXAMPLE_ZONE: Final = "front"
_NOUNS: Final = {
    ParameterKind.COLOUR: "a colour",
    ParameterKind.PATTERN: "a pattern",
    ParameterKind.YES_NO: "true, false",
    ParameterKind.GROUP: "a group",
}


class ParameterRow(NamedTuple):
    """One parameter, all in words."""

    name: str
    range: str
    unit: str
    default: str
    sentence: str


def rows_of(parameters: Sequence[ParameterView], above: str = "") -> Iterator[ParameterRow]:
    """Parameters in their order; what groups and items of lists are made of follows them. Stops are told elsewhere."""
    for one in parameters:
        name = f"{above}{one.name}"
        yield ParameterRow(name, _range(one), one.unit or "", _default(one), one.sentence)
        yield from rows_of(one.fields, f"{name}.")
        if one.kind is ParameterKind.LIST and one.items is not None:
            yield from rows_of(one.items.fields, f"{name}[].")


def example_layer(view: PatternView) -> str:
    """A layer with the pattern's example, as it stands below `layers:`; what is left out has its default."""
    statement = PATTERNS[view.pattern].model_validate_json(json.dumps(view.example))
    pattern = statement.model_dump(mode="json", exclude_defaults=True)
    return write_layers([{"zone": EXAMPLE_ZONE, "pattern": pattern}])


def _range(one: ParameterView) -> str:
    match one.kind:
        case ParameterKind.RAMP:
            return one.range.replace("items", "stops")
        case ParameterKind.LIST if one.items is not None:
            return one.range.replace("items", _items(one.items))
        case ParameterKind.WHOLE_NUMBER:
            return f"whole, {one.range}"
    return one.range or _NOUNS.get(one.kind, "")


def _items(item: ParameterView) -> str:
    if item.kind is ParameterKind.COLOUR:
        return "colours"
    return f"numbers from {item.range}" if item.kind is ParameterKind.NUMBER else "items"


def _default(one: ParameterView) -> str:
    if one.required:
        return "required"
    if one.kind is ParameterKind.RAMP:
        return f"{len(one.default)} stops"
    return "none" if one.default is None else on_one_line(one.default)
