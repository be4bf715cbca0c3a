"""Venue files made to exhaust: too deep, too long, too wrong, half characters. Each is refused, by field, at once."""

import json
from typing import Any

import pytest

from hub.errors import InvalidError, Mistake
from hub.venue_file import read_venue
from hub.venue_file.reading import MOST_TOLD


def mistakes(venue: dict[str, Any] | str) -> tuple[Mistake, ...]:
    text = venue if isinstance(venue, str) else json.dumps({"id": "v", "title": "V", **venue})
    with pytest.raises(InvalidError) as caught:
        read_venue(text.encode(), is_json=True)
    return tuple(caught.value.mistakes)


@pytest.mark.parametrize("levels", [40, 300, 900])
def test_json_that_is_nested_too_deep_is_refused_by_its_field(levels: int) -> None:
    text = '{"id": "v", "title": "V", "scenes": [{"id": ' + "[" * levels + "]" * levels + "}]}"
    (mistake,) = mistakes(text)
    assert mistake.field == "scenes[0].id[0][0][0][0][0]"
    assert mistake.reason == "it is nested more than 32 deep"


def test_json_beyond_any_parser_is_refused_as_a_file() -> None:
    (mistake,) = mistakes("[" * 100_000)
    assert mistake.field == "file"


def test_half_a_character_is_refused_by_its_field() -> None:
    (mistake,) = mistakes('{"id": "v", "title": "V", "zones": [{"id": "z", "title": "a\\ud83c"}]}')
    assert mistake == Mistake(
        "zones[0].title", "it holds half a character", "write the whole character, or leave it out"
    )
    whole = read_venue(b'{"id": "v", "title": "\\ud83c\\udfaa"}', is_json=True)
    assert whole.title == "\N{CIRCUS TENT}"


def test_a_list_that_is_too_long_is_told_once_and_what_fits_of_it_is_checked() -> None:
    stops = [{"at": number / 1_000, "colour": "gold"} for number in range(1_000)]
    layer = {"zone": "z", "pattern": {"pattern": "gradient", "stops": stops}}
    found = mistakes({"scenes": [{"id": "s", "title": "S", "layers": [layer] + [0] * 100_000}]})
    assert {mistake.field: mistake.remedy for mistake in found if "item" in mistake.reason} == {
        "scenes[0].layers": "write at most 16 items",
        "scenes[0].layers[0].pattern.stops": "write at most 16 items",
    }
    assert len(found) == 2 + 15


def test_a_group_of_countless_fields_is_told_once() -> None:
    found = mistakes({"supplies": [{f"x{number}": 0 for number in range(100_000)}]})
    assert found[0] == Mistake("supplies[0]", "it has 100000 fields", "write at most 64 fields")
    assert len(found) < 80


def test_of_countless_mistakes_some_are_told() -> None:
    assert len(mistakes({"nodes": [{"id": "n"}] * 5_000})) == MOST_TOLD
