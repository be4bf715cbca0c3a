"""The field at a place is found through references, unions and the tag of a pattern."""

from typing import Any

import pytest

from hub.statements.stated import stated_fields
from schemas.scene import Scene
from schemas.venue import Venue

SCENE: dict[str, Any] = {
    "layers": [
        {"pattern": {"pattern": "chase", "colour": {"kelvin": 2700}}, "mask": {"pattern": "spot", "spans": [{}]}},
        {"pattern": {"pattern": "gradient", "stops": [{"at": 0, "colour": {"linear": [0, 0, 9]}}]}},
        {"pattern": {"pattern": ["no"]}},
    ]
}


@pytest.mark.parametrize(
    ("where", "stated"),
    [
        (("layers", 0, "opacity"), {"maximum": 1}),
        (("layers", 0, "pattern", "speed_m_per_s"), {"minimum": -100, "unit": "m/s"}),
        (("layers", 0, "pattern", "colour", "kelvin"), {"maximum": 20_000, "unit": "K"}),
        (("layers", 0, "mask", "spans", 0, "first"), {"type": "integer"}),
        (("layers", 1, "pattern", "stops", 0, "colour", "linear", 2), {"maximum": 1}),
        (("layers", 2, "pattern", "speed_m_per_s"), {}),
        (("layers", 0, "pattern", "wavelength_m"), {}),
        (("layers", 9, "phase_s"), {"unit": "s"}),
        (("layers", 0, "opacity", "deeper", 3), {}),
        (("nothing",), {}),
    ],
)
def test_field_is_found_where_it_stands(where: tuple[str | int, ...], stated: dict[str, Any]) -> None:
    found = stated_fields(Scene).at(where, SCENE)
    assert found == {} if not stated else stated.items() <= found.items()


def test_form_of_a_union_is_the_one_that_its_tag_names() -> None:
    timing = {"protocol": "clocked", "clock_mhz": 4}
    where = ("pixel_types", 0, "timing", "clock_mhz")
    assert stated_fields(Venue).at(where, {"pixel_types": [{"timing": timing}]})["type"] == "number"
    assert stated_fields(Venue).at(where, {"pixel_types": [{"timing": {"clock_mhz": 4}}]}) == {}
