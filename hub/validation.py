"""Pydantic's errors in the words of a person: the field as it was written, what is wrong with it, what to do."""

import re
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar, get_args

from hub.errors import Mistake
from hub.nearest import Nearest
from hub.statements.colour_remedy import colour_remedy
from hub.statements.stated import StatedFields, stated_fields
from hub.statements.words import Schema, allowed_in_words
from schemas.contract import Id
from schemas.timetable import TimeOfDay, TimeZoneName

Where = tuple[str | int, ...]
E = TypeVar("E", bound=Mapping[str, Any])

ID_PATTERN = get_args(Id)[1].pattern
_FORMS = {
    ID_PATTERN: ("an id", "use lower-case letters, digits and inner hyphens, 1 to 40 characters"),
    get_args(TimeOfDay)[1].pattern: (
        "a time of day",
        "write local time such as '18:30', or civil dawn, sunrise, sunset or civil dusk, alone or as 'sunset - 20 min'",
    ),
    get_args(TimeZoneName)[1].pattern: ("the name of a time zone", "write one such as Europe/Vienna, or UTC"),
}
_SHOWN = 60
_MOST_NAMED = 16


def field_name(location: Sequence[str | int]) -> str:
    """A location as a person reads it: `("nodes", 3, "outputs")` becomes `nodes[3].outputs`."""
    name = ""
    for part in location:
        name += f"[{part}]" if isinstance(part, int) else f".{_named(part)}" if name else _named(part)
    return name


def _named(part: str) -> str:
    """A field's name, which a stranger may have written: short, and with nothing in it that could steer a terminal."""
    return part if part.isprintable() and len(part) <= _SHOWN else f"{ascii(part)[1:-1][:_SHOWN]}…"


def mistakes_of(
    errors: Sequence[Mapping[str, Any]],
    contract: Any = None,  # noqa: ANN401 (whatever pydantic can describe)
    value: Any = None,  # noqa: ANN401 (any JSON value)
    within: Where = (),
) -> list[Mistake]:
    """Errors of `ValidationError.errors()` as mistakes without lines.

    With the contract that refused `value`, remedies say what it allows. Locations begin with `within`, which leads to
    the value.
    """
    errors = own_errors(errors)
    if contract is None:
        return [Mistake(field_name(error["loc"]), *Told(error, error["loc"]).reason_and_remedy()) for error in errors]
    stated, nearest = stated_fields(contract), Nearest()
    mistakes: list[Mistake] = []
    for error in errors:
        if error["loc"][: len(within)] != within:
            mistakes += mistakes_of([error])
            continue
        where = as_written(error["loc"][len(within) :], value, error["type"])
        told = Told(error, where, stated, value, nearest)
        mistakes.append(Mistake(field_name((*within, *where)), *told.reason_and_remedy()))
    return mistakes


def own_errors(errors: Sequence[E]) -> list[E]:
    """The errors without lists that are short only because an item in them is wrong."""
    locations = {one["loc"][:length] for one in errors for length in range(1, len(one["loc"]))}
    return [one for one in errors if one["type"] != "too_short" or one["loc"] not in locations]


def as_written(where: Sequence[str | int], value: Any, kind: str) -> Where:  # noqa: ANN401
    """`where` without the parts that only pydantic has, the form of a union in between; `kind` is that of the error."""
    found: list[str | int] = []
    for place, part in enumerate(where):
        absent = place == len(where) - 1 and kind == "missing"
        if isinstance(value, dict) and (part in value or absent):
            value = value.get(part)
        elif isinstance(value, list) and isinstance(part, int):
            value = value[part] if part < len(value) else None
        else:
            continue
        found.append(part)
    return tuple(found)


class Told:
    """One error, where it stands, and what is stated of the field there."""

    def __init__(
        self,
        error: Mapping[str, Any],
        where: Where,
        stated: StatedFields | None = None,
        value: Any = None,  # noqa: ANN401
        nearest: Nearest | None = None,
    ) -> None:
        self._error = error
        self._context: Mapping[str, Any] = error.get("ctx", {})
        self._input = error.get("input")
        self._message = str(error["msg"]).removeprefix("Value error, ")
        self._name = where[-1] if where else ""
        self._nearest = nearest or Nearest()
        self._holder: Schema = stated.at(where[:-1], value) if stated else {}
        self._allowed = allowed_in_words(stated.at(where, value)) if stated else ""

    def reason_and_remedy(self) -> tuple[str, str]:
        context, message = self._context, self._message
        if "remedy" in context:
            return message, str(context["remedy"])
        match self._error["type"]:
            case "missing" if not self._name:
                return "it is missing", "send it"
            case "missing" if isinstance(self._name, int):
                return "it is missing: the list is too short", f"write {allowed_in_words(self._holder) or 'it'}"
            case "missing":
                return f"`{self._name}` is missing", f"add `{self._name}`" + (
                    f", {self._allowed}" if self._allowed else ""
                )
            case "extra_forbidden":
                return f"there is no field {_shown(str(self._name))} here", self._another_name()
            case "literal_error":
                return f"{_shown(self._input)} is not known here", self._another_choice()
            case "colour":
                return message if self._input is not None else "is empty", colour_remedy(self._input, self._nearest)
            case "string_type" if self._input is None:
                return "is empty", "write it; put it in quotes if it starts with #, which begins a comment in YAML"
            case "string_type":
                return f"must be text, not {_shown(self._input)}", "write text; put a number in quotes"
            case "dict_type" | "model_type" | "model_attributes_type":
                return f"must be a group of fields, not {_shown(self._input)}", "write its fields, each with its name"
            case "string_pattern_mismatch" if context.get("pattern") in _FORMS:
                form, remedy = _FORMS[context["pattern"]]
                return f"{_shown(self._input)} is not {form}", remedy
            case "string_pattern_mismatch":
                return f"{_shown(self._input)} does not match {context['pattern']}", "write it in that form"
            case "date_type" | "date_parsing" | "date_from_datetime_parsing" | "date_from_datetime_inexact":
                return f"{_shown(self._input)} is no day of the calendar", "write it as YYYY-MM-DD, such as 2031-05-01"
            case "union_tag_invalid":
                return f"{_shown(context['tag'])} is not known here", self._another_choice()
            case "union_tag_not_found":
                return f"{context['discriminator']} is missing", f"add {context['discriminator']}"
            case "json_invalid":
                return f"not well-formed JSON: {context.get('error', message)}", "correct it and send it again"
            case "content_type":
                return message, "set the Content-Type header"
            case "value_error":
                return message, "correct it"
            case "too_short" | "too_long" if self._allowed:
                return _counted(context["actual_length"]), f"write {self._allowed}"
            case _:
                wanted = f"write {self._allowed}" if self._allowed else "correct it"
                return message.replace("Input should", "it should", 1), f"{wanted}; it is {_shown(self._input)} now"

    def _another_name(self) -> str:
        known = [name for name, field in self._holder.get("properties", {}).items() if "const" not in field]
        if guess := self._nearest.among(str(self._name), known):
            return f"did you mean `{guess}`?"
        if 0 < len(known) <= _MOST_NAMED:
            return f"remove it, or use one of {', '.join(known)}"
        return "remove it, or correct its name"

    def _another_choice(self) -> str:
        choices = re.findall(r"'([^']*)'", self._context.get("expected", self._context.get("expected_tags", "")))
        guess = self._nearest.among(self._input, choices) if isinstance(self._input, str) else None
        meant = f"did you mean `{guess}`? There are " if guess else "use one of "
        return f"{meant}{', '.join(choices)}"


def _counted(items: int) -> str:
    return f"it has {items} item{'' if items == 1 else 's'}"


def _shown(value: object) -> str:
    """A value for a message: short, and with nothing in it that could steer a terminal."""
    if isinstance(value, (Mapping, list, tuple)):
        return "a group of fields" if isinstance(value, Mapping) else "a list"
    text = ascii(value) if isinstance(value, str) else str(value)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"
