"""One field of a statement as people read it, from its JSON Schema: no field and no pattern is known by name."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Any, Final, Self

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from hub.statements.words import Schema, range_in_words
from schemas.colour import Colour, Stop

_COLOUR: Final = TypeAdapter(Colour).json_schema()["anyOf"]
_STOP: Final = {"$ref": f"#/$defs/{Stop.__name__}"}


class ParameterKind(StrEnum):
    """What a value is, and so how it is asked for."""

    NUMBER = "number"
    WHOLE_NUMBER = "whole-number"
    YES_NO = "yes-no"
    CHOICE = "choice"
    TEXT = "text"
    PICTURE = "picture"
    COLOUR = "colour"
    RAMP = "ramp"
    PATTERN = "pattern"
    LIST = "list"
    GROUP = "group"


class StatementError(TypeError):
    """A field says too little of itself, or is of a kind that nobody could be asked for."""


class ParameterView(BaseModel):
    """A field: what it is for, what it may hold, and what it holds when left out."""

    model_config = ConfigDict(frozen=True)

    name: Annotated[str, Field(description="As it is written in a scene; empty for the items of a list.")]
    sentence: Annotated[str, Field(description="What it does.")]
    kind: Annotated[ParameterKind, Field(description="A ramp is a list of stops; a picture is text that holds one.")]
    required: Annotated[bool, Field(description="Whether a scene must state it.")]
    default: Annotated[Any, Field(description="What counts where it is left out.")] = None
    example: Annotated[Any, Field(description="A sensible value, valid together with the other fields' examples.")]
    unit: Annotated[str | None, Field(description="Of a number; null for a plain one.")] = None
    least: Annotated[int | float | None, Field(description="Of a number, allowed itself.")] = None
    most: Annotated[int | float | None, Field(description="Of a number, allowed itself.")] = None
    shortest: Annotated[int | None, Field(description="Fewest characters of a text, or items of a list.")] = None
    longest: Annotated[int | None, Field(description="Most characters of a text, or items of a list.")] = None
    range: Annotated[str, Field(description="What it may hold, in words; empty where its kind says all.")]
    choices: Annotated[list[str], Field(description="Of a choice: all there are.")] = []
    items: Annotated["ParameterView | None", Field(description="Of a list or a ramp: what each item is.")] = None
    fields: Annotated[list["ParameterView"], Field(description="Of a group: its fields.")] = []

    @classmethod
    def of(cls, name: str, schema: Schema, defs: Mapping[str, Schema], *, required: bool) -> Self:
        """From the schema of one property; `defs` are the definitions that it refers to."""
        default = schema.get("default")
        said = _resolved(schema, defs)
        kind = _kind(name, said)
        items = (
            cls.of("", _item(said), defs, required=True) if kind in (ParameterKind.LIST, ParameterKind.RAMP) else None
        )
        fields = parameters_of(said, defs) if kind is ParameterKind.GROUP else []
        shortest = said.get("minLength", said.get("minItems"))
        return cls(
            name=name,
            sentence=one_paragraph(said.get("description", "")),
            kind=kind,
            required=required,
            default=default,
            example=_example(said, default, items, fields, shortest),
            unit=said.get("unit"),
            least=said.get("minimum"),
            most=said.get("maximum"),
            shortest=shortest,
            longest=said.get("maxLength", said.get("maxItems")),
            range=range_in_words(said),
            choices=said.get("enum", []),
            items=items,
            fields=fields,
        )


def is_colour(schema: Schema) -> bool:
    """Whether it is asked for as a colour, in whichever form."""
    return bool(schema.get("anyOf") == _COLOUR)


def parameters_of(schema: Schema, defs: Mapping[str, Schema]) -> list[ParameterView]:
    """The fields of a group, in their order; the one that only tags a pattern is left out."""
    required = schema.get("required", ())
    return [
        ParameterView.of(name, part, defs, required=name in required)
        for name, part in schema["properties"].items()
        if "const" not in part
    ]


def example_of(parameters: list[ParameterView]) -> dict[str, Any]:
    """A value of each field that must be stated."""
    return {one.name: one.example for one in parameters if one.required}


def one_paragraph(text: str) -> str:
    """The first paragraph of a docstring or a description, on one line."""
    return " ".join(text.split("\n\n")[0].split())


def _resolved(schema: Schema, defs: Mapping[str, Schema]) -> Schema:
    """Without references, and without the null of what may be left out; what stands beside them counts more."""
    for part in schema.get("anyOf", ()) if not is_colour(schema) else ():
        if part != {"type": "null"}:
            return {**_resolved(part, defs), **{name: value for name, value in schema.items() if name != "anyOf"}}
    if "$ref" in schema:
        return {**defs[schema["$ref"].rsplit("/", 1)[1]], **schema}
    return schema


def _item(schema: Schema) -> Schema:
    found: Schema = schema["items"] if "items" in schema else schema["prefixItems"][0]
    return found


def _kind(name: str, schema: Schema) -> ParameterKind:
    if is_colour(schema):
        return ParameterKind.COLOUR
    if "discriminator" in schema:
        return ParameterKind.PATTERN
    if "enum" in schema:
        return ParameterKind.CHOICE
    match schema.get("type"):
        case "number":
            return ParameterKind.NUMBER
        case "integer":
            return ParameterKind.WHOLE_NUMBER
        case "boolean":
            return ParameterKind.YES_NO
        case "string":
            is_picture = str(schema.get("contentMediaType", "")).startswith("image/")
            return ParameterKind.PICTURE if is_picture else ParameterKind.TEXT
        case "array":
            return ParameterKind.RAMP if schema.get("items") == _STOP else ParameterKind.LIST
        case "object" if "properties" in schema:
            return ParameterKind.GROUP
    raise StatementError(f"`{name}` is of a kind that no statement may have: {dict(schema)}")


def _example(
    schema: Schema,
    default: object,
    items: ParameterView | None,
    fields: list[ParameterView],
    shortest: int | None,
) -> Any:  # noqa: ANN401 (any JSON value)
    if schema.get("examples"):
        return schema["examples"][0]
    if default is not None:
        return default
    if fields:
        return example_of(fields)
    if is_colour(schema):
        return _COLOUR[0]["examples"][0]
    if items is not None:
        return [items.example] * (shortest or 1)
    return next(iter(schema.get("enum", ())), None)
