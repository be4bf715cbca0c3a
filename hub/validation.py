"""Pydantic's errors in the words of a person: the field, what is wrong with it, what to do."""

import difflib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, get_args

from hub.errors import Mistake
from schemas.colour import COLOUR_FORMS
from schemas.contract import Id

ID_PATTERN = get_args(Id)[1].pattern
_SHOWN = 60


def field_name(location: Sequence[str | int]) -> str:
    """A location as a person reads it: `("nodes", 3, "outputs")` becomes `nodes[3].outputs`."""
    name = ""
    for part in location:
        name += f"[{part}]" if isinstance(part, int) else f".{part}" if name else str(part)
    return name


def mistakes_of(errors: Sequence[Mapping[str, Any]]) -> list[Mistake]:
    """Errors of `ValidationError.errors()` as mistakes without lines."""
    return [Mistake(field_name(error["loc"]), *reason_and_remedy(error)) for error in errors]


def reason_and_remedy(error: Mapping[str, Any], known_fields: Iterable[str] = ()) -> tuple[str, str]:
    """What is wrong and what to do, for one error; `known_fields` allow a guess at a misspelt field."""
    context: Mapping[str, Any] = error.get("ctx", {})
    message = str(error["msg"]).removeprefix("Value error, ")
    last = error["loc"][-1] if error["loc"] else ""
    match error["type"]:
        case "missing":
            return f"`{last}` is missing", f"add `{last}`"
        case "extra_forbidden":
            guesses = difflib.get_close_matches(str(last)[:_SHOWN], known_fields, n=1)
            remedy = f"did you mean `{guesses[0]}`?" if guesses else "remove it, or correct its name"
            return f"there is no field {_shown(str(last))} here", remedy
        case "string_type" if error.get("input") is None:
            return "is empty", "write it; put it in quotes if it starts with #, which begins a comment in YAML"
        case "string_type":
            return (
                f"must be text, not {_shown(error.get('input'))}",
                "write text; put a number in quotes",
            )
        case "string_pattern_mismatch" if context.get("pattern") == ID_PATTERN:
            return (
                f"{_shown(error.get('input'))} is not an id",
                "use lower-case letters, digits and inner hyphens, 1 to 40 characters",
            )
        case _ if "remedy" in context:
            return message, str(context["remedy"])
        case "colour":
            return message, f"write {COLOUR_FORMS}"
        case "string_pattern_mismatch":
            return f"{_shown(error.get('input'))} does not match {context['pattern']}", "write it in that form"
        case "union_tag_invalid":
            return f"{_shown(context['tag'])} is not known here", f"use one of {context['expected_tags']}"
        case "union_tag_not_found":
            return f"{context['discriminator']} is missing", f"add {context['discriminator']}"
        case "json_invalid":
            return f"not well-formed JSON: {context.get('error', message)}", "correct it and send it again"
        case "content_type":
            return message, "set the Content-Type header"
        case "value_error":
            return message, "correct it"
        case _:
            return _lowered(message), f"correct it; it is {_shown(error.get('input'))} now"


def _lowered(message: str) -> str:
    return message.replace("Input should", "it should", 1)


def _shown(value: object) -> str:
    """A value for a message: short, and with nothing in it that could steer a terminal."""
    if isinstance(value, (Mapping, list, tuple)):
        return "a group of fields" if isinstance(value, Mapping) else "a list"
    text = ascii(value) if isinstance(value, str) else str(value)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"
