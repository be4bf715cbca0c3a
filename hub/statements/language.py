"""The whole scene language as people read it: layers, the forms of a colour, and every pattern that is loaded."""

import json
from functools import cache
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

import node_agent.render  # noqa: F401 (loads every pattern)
from hub.statements.parameter import ParameterView, example_of, one_paragraph, parameters_of
from schemas.colour import CSS_COLOURS, Colour
from schemas.pattern import PATTERNS, Pattern
from schemas.scene import Layer


class PatternView(BaseModel):
    """A pattern: what the eye sees, and what may be said of it."""

    model_config = ConfigDict(frozen=True)

    pattern: Annotated[str, Field(description="Its name, as `pattern` in a layer.")]
    sentence: Annotated[str, Field(description="What the eye sees.")]
    parameters: Annotated[list[ParameterView], Field(description="In the order in which they are asked for.")]
    example: Annotated[dict[str, Any], Field(description="A whole pattern, defaults written out, for a layer.")]


class ColourForm(BaseModel):
    """One way to write a colour."""

    model_config = ConfigDict(frozen=True)

    form: Annotated[str, Field(description="`text`, or the field that makes it this form.")]
    sentence: str
    parameters: Annotated[list[ParameterView], Field(description="Its fields; none where it is text.")]
    example: Annotated[Any, Field(description="A colour in this form.")]


class SceneLanguage(BaseModel):
    """All that a scene may say, stated once, where each pattern has its light."""

    model_config = ConfigDict(frozen=True)

    patterns: Annotated[list[PatternView], Field(description="By name.")]
    layer: Annotated[list[ParameterView], Field(description="What a layer may say beside its zone and its pattern.")]
    colour_forms: Annotated[list[ColourForm], Field(description="How a colour may be written.")]
    colour_names: Annotated[dict[str, str], Field(description="The names of CSS Color Module Level 4, as sRGB in hex.")]


@cache
def pattern_views() -> tuple[PatternView, ...]:
    """Every pattern that is loaded, by name."""
    return tuple(_pattern_view(tag, PATTERNS[tag]) for tag in sorted(PATTERNS))


@cache
def scene_language() -> SceneLanguage:
    """The same until the process ends: patterns are loaded at its start."""
    layer = Layer.model_json_schema()
    return SceneLanguage(
        patterns=list(pattern_views()),
        layer=[one for one in parameters_of(layer, layer["$defs"]) if not one.required],
        colour_forms=list(_colour_forms()),
        colour_names=dict(sorted(CSS_COLOURS.items())),
    )


def _pattern_view(tag: str, statement: type[Pattern]) -> PatternView:
    schema = statement.model_json_schema()
    parameters = parameters_of(schema, schema.get("$defs", {}))
    example = statement.model_validate_json(json.dumps({"pattern": tag, **example_of(parameters)}))
    return PatternView(
        pattern=tag,
        sentence=one_paragraph(schema["description"]),
        parameters=parameters,
        example=example.model_dump(mode="json"),
    )


def _colour_forms() -> list[ColourForm]:
    schema = TypeAdapter(Colour).json_schema()
    forms: list[ColourForm] = []
    for one in schema["anyOf"]:
        said = schema["$defs"][one["$ref"].rsplit("/", 1)[1]] if "$ref" in one else one
        parameters = parameters_of(said, schema["$defs"]) if "properties" in said else []
        forms.append(
            ColourForm(
                form=parameters[0].name if parameters else "text",
                sentence=one_paragraph(said["description"]),
                parameters=parameters,
                example=example_of(parameters) if parameters else said["examples"][0],
            )
        )
    return forms
