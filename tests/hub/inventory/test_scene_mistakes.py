"""A scene with a mistake is refused with the field as it was sent and a remedy that says what is allowed there."""

from typing import Any

import httpx
import pytest

Said = tuple[str, str, str]

WASH: dict[str, Any] = {"pattern": "wash", "colour": "gold"}
CHASE: dict[str, Any] = {"pattern": "chase", "colour": "gold", "length_m": 1, "spacing_m": 2, "speed_m_per_s": 1}
SPOT = {"pattern": "spot", "colour": "gold", "spans": [{"first": 500}]}
STOPS = [{"at": 0, "colour": "gold"}, {"at": 1, "colour": "navy"}]


@pytest.mark.parametrize(
    ("layer", "said"),
    [
        ({"pattern": CHASE | {"length_m": 0}}, ("pattern.length_m", "0.001", "from 0.001 to 10000 m; it is 0")),
        ({"pattern": CHASE | {"speed_m_per_s": "fast"}}, ("pattern.speed_m_per_s", "valid number", "-100 to 100 m/s")),
        ({"pattern": CHASE | {"speed": 1}}, ("pattern.speed", "no field 'speed'", "did you mean `speed_m_per_s`?")),
        ({"pattern": CHASE | {"size": 1}}, ("pattern.size", "no field", "or use one of colour, along, length_m")),
        ({"pattern": CHASE | {"along": "z"}}, ("pattern.along", "'z' is not known here", "use one of s, x, y")),
        ({"pattern": CHASE | {"length_m": 3}}, ("pattern", "must not exceed spacing_m", "or widen spacing_m")),
        ({"pattern": {"pattern": "chaise"}}, ("pattern.pattern", "'chaise' is not known", "did you mean `chase`?")),
        ({"pattern": {"pattern": 5}}, ("pattern.pattern", "5 is not known here", "use one of ")),
        ({"pattern": {"colour": "gold"}}, ("pattern.pattern", "`pattern` is missing", "add `pattern`")),
        ({"pattern": {"pattern": "wash"}}, ("pattern.colour", "`colour` is missing", "add `colour`")),
        ({"pattern": "wash"}, ("pattern", "must be a group of fields, not 'wash'", "write its fields")),
        ({"pattern": WASH | {"colour": "gould"}}, ("pattern.colour", "'gould' is not a colour", "did you mean gold?")),
        ({"pattern": WASH | {"colour": "#FA0"}}, ("pattern.colour", "not a colour", 'write "#ffaa00", in quotes')),
        ({"pattern": WASH | {"colour": "2700K"}}, ("pattern.colour", "not a colour", "write {kelvin: 2700}")),
        ({"pattern": WASH | {"colour": {"hue": 9}}}, ("pattern.colour", "make no colour", "{kelvin: 2700}")),
        ({"pattern": WASH | {"colour": {"kelvin": 9}}}, ("pattern.colour.kelvin", "1000", "from 1000 to 20000 K")),
        ({"pattern": WASH | {"colour": {"kelvin": 2700, "tint_duv": 1}}}, ("pattern.colour.tint_duv", "", "-0.03 to")),
        ({"pattern": WASH | {"colour": {"linear": [1, 2, 0]}}}, ("pattern.colour.linear[1]", "", "0 to 1; it is 2")),
        ({"pattern": WASH | {"colour": {"linear": [1, 1]}}}, ("pattern.colour.linear[2]", "too short", "3 items")),
        ({"mask": {"pattern": "gradient", "stops": STOPS[:1]}}, ("mask.stops", "it has 1 item", "2 to 16 items")),
        ({"mask": {"pattern": "gradient", "stops": STOPS, "mix": "rgb"}}, ("mask.mix", "'rgb'", "oklab, linear")),
        (
            {"mask": {"pattern": "gradient", "stops": [STOPS[0], {"at": 2, "colour": "navy"}]}},
            ("mask.stops[1].at", "less than or equal to 1", "a number from 0 to 1; it is 2"),
        ),
        ({"blend": "ad"}, ("blend", "'ad' is not known here", "did you mean `add`? There are normal, add")),
        ({"opacity": 2}, ("opacity", "less than or equal to 1", "a number from 0 to 1; it is 2 now")),
        ({"time_scale": -1000}, ("time_scale", "-100", "from -100 to 100; it is -1000 now")),
        ({"zone": "sil"}, ("zone", "there is no zone 'sil'", "did you mean 'sill'?")),
        ({"mask": SPOT}, ("mask.spans[0]", "past the end of its zone", "shorten the spot")),
        ({"phase": 1}, ("phase", "no field 'phase'", "did you mean `phase_s`?")),
    ],
)  # fmt: skip
def test_mistake_is_told_where_it_was_sent(client: httpx.Client, layer: dict[str, Any], said: Said) -> None:
    body = {"id": "new", "title": "New", "layers": [{"zone": "sill", "pattern": WASH} | layer]}
    answer = client.put("/api/v1/venues/kiosk/scenes/new", json=body, headers={"If-None-Match": "*"})
    assert answer.status_code == 422
    (mistake,) = answer.json()["mistakes"]
    field, reason, remedy = said
    assert mistake["field"] == f"body.layers[0].{field}"
    assert reason in mistake["reason"]
    assert remedy in mistake["remedy"]
    assert client.get("/api/v1/venues/kiosk/scenes/new").status_code == 404
