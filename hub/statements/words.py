"""What a field may hold, in words, from its JSON Schema."""

from collections.abc import Mapping
from typing import Any, Final

Schema = Mapping[str, Any]

_BOUNDS: Final = {
    "minimum": "at least",
    "exclusiveMinimum": "more than",
    "maximum": "at most",
    "exclusiveMaximum": "less than",
}


def range_in_words(schema: Schema) -> str:
    """Such as `0.001 to 10000`, `s, x, y`, `2 to 16 items`, `at most 24 characters`; empty where nothing bounds it."""
    if "enum" in schema:
        return ", ".join(map(str, schema["enum"]))
    match schema.get("type"):
        case "number" | "integer":
            return _between(schema)
        case "array":
            return _counted(schema.get("minItems", 0), schema.get("maxItems"), "items")
        case "string":
            return _counted(schema.get("minLength", 0), schema.get("maxLength"), "characters")
    return ""


def allowed_in_words(schema: Schema) -> str:
    """For a remedy, such as `a number from 0.001 to 10000 m`; empty for what takes more words than these."""
    span = range_in_words(schema)
    unit = f" {schema['unit']}" if "unit" in schema else ""
    if "enum" in schema:
        return f"one of {span}"
    match schema.get("type"):
        case "number" | "integer" as kind:
            noun = "a number" if kind == "number" else "a whole number"
            joined = f" from {span}" if " to " in span else f", {span}" if span else ""
            return f"{noun}{joined}{unit}"
        case "boolean":
            return "true or false"
        case "array":
            return f"a list of {span}" if span else "a list"
        case "string":
            return f"text of {span}" if span else "text"
        case "object":
            return "a group of fields"
    return ""


def plain(value: float) -> str:
    """A number as a person writes it: whole ones without a point, none with an exponent."""
    return str(int(value)) if float(value).is_integer() else f"{value:.10f}".rstrip("0")


def _between(schema: Schema) -> str:
    if "minimum" in schema and "maximum" in schema:
        return f"{plain(schema['minimum'])} to {plain(schema['maximum'])}"
    return " and ".join(f"{word} {plain(schema[name])}" for name, word in _BOUNDS.items() if name in schema)


def _counted(least: int, most: int | None, noun: str) -> str:
    if most is None:
        return f"at least {least} {noun}" if least else ""
    if least == most:
        return f"{most} {noun}"
    return f"{least} to {most} {noun}" if least else f"at most {most} {noun}"
