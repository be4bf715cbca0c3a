"""Every statement says all that editor, docs and errors need of it: what fails here names the field to complete."""

import json
from collections.abc import Iterator

import pytest
from pydantic import TypeAdapter

from hub.statements import ParameterKind, ParameterView, PatternView, pattern_views, scene_language
from schemas.colour import Colour
from schemas.pattern import PATTERNS
from schemas.scene import Layer

# The end of a name tells the unit; the longest end counts.
UNITS = {
    "_m_per_s": "m/s",
    "_per_m": "1/m",
    "_hz": "Hz",
    "_kelvin": "K",
    "_deg": "°",
    "_px": "px",
    "_m": "m",
    "_s": "s",
}
NUMBERS = {ParameterKind.NUMBER, ParameterKind.WHOLE_NUMBER}


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


@pytest.mark.parametrize("name", STATED)
def test_field_states_sentence_unit_range_and_example(name: str) -> None:
    one = STATED[name]
    assert one.sentence.endswith(".") or name.endswith("[]"), "give it a description of one sentence"
    if one.kind in NUMBERS:
        assert one.least is not None, "bound it: ge="
        assert one.most is not None, "bound it: le="
        units = [unit for end, unit in sorted(UNITS.items(), key=lambda item: -len(item[0])) if one.name.endswith(end)]
        assert one.unit == (units[0] if units else one.unit), "state the unit that its name has"
    if one.kind in {ParameterKind.TEXT, ParameterKind.PICTURE, ParameterKind.LIST, ParameterKind.RAMP}:
        assert one.longest is not None, "bound it: max_length="
    if one.required and one.name:
        assert one.example is not None, "give it examples=[...]"


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
