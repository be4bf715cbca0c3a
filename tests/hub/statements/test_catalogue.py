"""Every statement says all that editor, docs and errors need of it: what fails here names the field to complete."""

import json
from collections.abc import Iterator
from typing import Annotated

import pytest
from pydantic import Field, TypeAdapter

from hub.statements import ParameterKind, ParameterView, PatternView, pattern_views, scene_language
from hub.statements.parameter import StatementError, parameters_of
from schemas.colour import Colour
from schemas.contract import Contract
from schemas.pattern import PATTERNS
from schemas.scene import Layer

# The end of a name tells the unit; the first that fits counts.
UNITS = {"_m_per_s": "m/s", "_per_m": "1/m", "_hz": "Hz", "_k": "K", "_m": "m", "_s": "s"}
NUMBERS = {ParameterKind.NUMBER, ParameterKind.WHOLE_NUMBER}
LONG = {ParameterKind.TEXT, ParameterKind.PICTURE, ParameterKind.LIST, ParameterKind.RAMP}


def _every(parameters: list[ParameterView], above: str = "") -> Iterator[tuple[str, ParameterView]]:
    for one in parameters:
        name = f"{above}.{one.name}" if one.name else f"{above}[]"
        yield name, one
        yield from _every([*one.fields, *([one.items] if one.items else [])], name)


LANGUAGE = scene_language()
STATED = {
    name: one
    for parameters, above in (
        *((view.parameters, view.pattern) for view in LANGUAGE.patterns),
        *((form.parameters, form.form) for form in LANGUAGE.colour_forms),
        (LANGUAGE.layer, "layer"),
    )
    for name, one in _every(parameters, above)
}


def _lacking(name: str, one: ParameterView) -> list[str]:
    """What a statement must still say of a field."""
    lacks = []
    if not one.sentence.endswith(".") and one.name:
        lacks.append("a description of one sentence")
    if one.kind in NUMBERS:
        lacks += ["ge="] * (one.least is None) + ["le="] * (one.most is None)
        units = [unit for end, unit in UNITS.items() if one.name.endswith(end)]
        if units and one.unit != units[0]:
            lacks.append(f'json_schema_extra={{"unit": "{units[0]}"}}')
    if one.kind in LONG and one.longest is None:
        lacks.append("max_length=")
    if one.required and one.name and one.example is None:
        lacks.append("examples=[...]")
    return [f"{name}: {lack}" for lack in lacks]


@pytest.mark.parametrize("name", STATED)
def test_field_states_sentence_unit_range_and_example(name: str) -> None:
    assert _lacking(name, STATED[name]) == []


def test_what_a_statement_lacks_is_found() -> None:
    class Careless(Contract):
        speed_m_per_s: Annotated[float, Field(description="fast", le=5)]
        words: Annotated[str, Field(description="What is to be read.")]

    lacking = [
        lack for name, one in _every(parameters_of(Careless.model_json_schema(), {})) for lack in _lacking(name, one)
    ]
    assert lacking == [
        ".speed_m_per_s: a description of one sentence",
        ".speed_m_per_s: ge=",
        '.speed_m_per_s: json_schema_extra={"unit": "m/s"}',
        ".speed_m_per_s: examples=[...]",
        ".words: max_length=",
        ".words: examples=[...]",
    ]


def test_a_kind_that_nobody_could_be_asked_for_is_refused() -> None:
    class Odd(Contract):
        table: dict[str, int]

    with pytest.raises(StatementError, match="`table` is of a kind"):
        parameters_of(Odd.model_json_schema(), {})


@pytest.mark.parametrize("view", pattern_views(), ids=lambda view: view.pattern)
def test_pattern_says_what_the_eye_sees_and_its_example_is_whole(view: PatternView) -> None:
    assert view.sentence.endswith(".")
    example = PATTERNS[view.pattern].model_validate_json(json.dumps(view.example))
    assert set(view.example) == {"pattern", *(one.name for one in view.parameters)}
    assert example.model_dump(mode="json") == view.example


def test_every_pattern_that_is_loaded_is_told() -> None:
    assert [view.pattern for view in LANGUAGE.patterns] == sorted(PATTERNS)


def test_every_form_of_a_colour_has_an_example_that_is_one() -> None:
    assert [form.form for form in LANGUAGE.colour_forms] == ["text", "linear", "kelvin"]
    colours: TypeAdapter[Colour] = TypeAdapter(Colour)
    for form in LANGUAGE.colour_forms:
        colours.validate_json(json.dumps(form.example))


def test_a_layer_tells_all_that_it_may_say() -> None:
    assert {one.name for one in LANGUAGE.layer} == set(Layer.model_fields) - {"zone", "pattern"}
    kinds = {one.name: one.kind for one in LANGUAGE.layer}
    assert (kinds["mask"], kinds["blend"], kinds["opacity"]) == ("pattern", "choice", "number")
