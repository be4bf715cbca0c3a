"""The catalogue that people edit is the one that boards read, and every value in it has a source."""

import json
from pathlib import Path

import pytest

from schemas import PIXEL_CATALOGUE, PixelType, PixelTypeSources
from schemas.catalogue_file import read_catalogue

KIND = """\
- key: KEY
  title: Invented
  volts: 5
  minimum_volts: 3.5
  colour_order: GRB
  timing: {protocol: nrz, t0h_us: 0.4, t0l_us: 0.85, t1h_us: 0.8, t1l_us: 0.45, tolerance_us: 0.15, reset_us: 50}
  idle_ma: 1
  full_ma: {red: 19, green: 19, blue: 19}
  typical_ma: 20
"""
SOURCES = "  sources: {otherwise: invented}\n"


def test_boards_read_what_people_edit() -> None:
    assert tuple(PIXEL_CATALOGUE.values()) == read_catalogue()


def test_keys_are_neutral_and_say_what_the_type_is() -> None:
    for key, kind in PIXEL_CATALOGUE.items():
        assert key.startswith(f"{''.join(sorted(kind.colour_order, key='RGBW'.index)).lower()}-{kind.volts:g}v-")
        assert {"nrz": "nrz800", "clocked": "clocked"}[kind.timing.protocol] in key


def test_the_kinds_that_venues_use_are_there() -> None:
    kinds = PIXEL_CATALOGUE.values()
    assert {(kind.emitters, kind.volts) for kind in kinds} >= {(3, 5), (3, 12), (3, 24), (4, 5), (4, 12), (4, 24)}
    assert {(kind.leds_per_pixel, kind.volts) for kind in kinds} >= {(1, 5), (1, 12), (3, 12), (6, 24)}
    assert {kind.timing.protocol for kind in kinds} == {"nrz", "clocked"}


@pytest.mark.parametrize("key", sorted(PIXEL_CATALOGUE))
def test_every_source_is_a_sheet_memory_or_practice(key: str) -> None:
    sources = PIXEL_CATALOGUE[key].sources
    assert sources is not None
    for text in filter(None, sources.model_dump().values()):
        assert any(word in text for word in ("data sheet", "from memory", "common practice, no source")), text


def test_sources_are_named_like_the_values_that_they_are_of() -> None:
    assert set(PixelTypeSources.model_fields) - {"otherwise"} < set(PixelType.model_fields)
    sources = PixelTypeSources(otherwise="a sheet", idle_ma="measured")
    assert (sources.of("idle_ma"), sources.of("timing")) == ("measured", "a sheet")


def test_a_type_without_its_sources_is_else_the_same() -> None:
    kind = PIXEL_CATALOGUE["rgb-5v-nrz800"]
    assert kind.without_sources().model_dump(exclude={"sources"}) == kind.model_dump(exclude={"sources"})
    assert json.loads(kind.without_sources().model_dump_json())["sources"] is None


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        (KIND + SOURCES + KIND + SOURCES, "KEY appears twice; give each"),
        (KIND, "KEY names no sources; say where"),
        (KIND + SOURCES + "  title: Twice\n", "duplicate key"),
        (KIND.replace("volts: 5", "volts: five") + SOURCES, "volts"),
        ("key: [", "expected"),
        ("", "valid array"),
    ],
    ids=["key twice", "no sources", "field twice", "text for a number", "not YAML", "nothing"],
)
def test_a_catalogue_with_a_mistake_is_not_published(tmp_path: Path, text: str, reason: str) -> None:
    (tmp_path / "catalogue.yaml").write_text(text.replace("KEY", "invented"))
    with pytest.raises(ValueError, match=reason.replace("KEY", "invented")):
        read_catalogue(tmp_path / "catalogue.yaml")
