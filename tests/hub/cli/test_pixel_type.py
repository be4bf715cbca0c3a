"""`stringcourse pixel-type`, which needs no hub."""

import json
from pathlib import Path

import pytest

from hub.cli.pixel_type import CAUTIONS, READING_A_SHEET
from hub.venue_file import read_venue
from schemas import PIXEL_CATALOGUE
from schemas.pixel_type import PixelType
from tests.hub.cli.conftest import Stringcourse

KIOSK = Path(__file__).parents[1] / "venue_file" / "kiosk.yaml"
MEASURE = (
    "pixel-type", "measure", "--like", "rgb-5v-nrz800", "--pixels", 50, "--volts", 4.9, "--idle-a", 0.05,
    "--on", "2025-03-01",
)  # fmt: skip
ALONE = {"STRINGCOURSE_HUB": "http://127.0.0.1:9", "STRINGCOURSE_TOKEN": ""}


def test_all_kinds_are_listed_and_a_venues_own_with_its_file(stringcourse: Stringcourse) -> None:
    listed = stringcourse("pixel-type", "list", **ALONE)
    assert listed.returncode == 0, listed.stderr
    assert all(key in listed.stdout for key in PIXEL_CATALOGUE)
    own = stringcourse("pixel-type", "list", "--file", KIOSK, "--json")
    assert [kind["key"] for kind in json.loads(own.stdout)] == [*PIXEL_CATALOGUE, "rgb-5v-own"]


@pytest.mark.parametrize("key", sorted(PIXEL_CATALOGUE))
def test_each_value_is_shown_with_its_source(stringcourse: Stringcourse, key: str) -> None:
    done = stringcourse("pixel-type", "show", key)
    kind = PIXEL_CATALOGUE[key]
    assert kind.sources is not None
    for words in (kind.sources.of("full_ma"), kind.sources.of("timing"), f"{kind.full_pixel_ma:g} mA with idle"):
        assert words in done.stdout
    assert PixelType.model_validate_json(stringcourse("pixel-type", "show", key, "--json").stdout) == kind


def test_a_measured_type_is_a_block_that_a_venue_file_takes(stringcourse: Stringcourse) -> None:
    done = stringcourse(*MEASURE, "--full-a", 3.6, **ALONE)
    assert done.returncode == 0, done.stderr
    block = done.stdout[done.stdout.index("pixel_types:") :]
    (kind,) = read_venue(f"id: shop\ntitle: Shop\n{block}".encode()).pixel_types
    assert kind.full_pixel_ma * 50 == pytest.approx(3600, abs=0.1)
    assert "20 % more than published, which matters" in done.stdout
    assert all(caution in done.stdout for caution in CAUTIONS)


def test_a_measured_type_for_programs(stringcourse: Stringcourse) -> None:
    done = stringcourse(*MEASURE, "--full-a", 3.05, "--key", "reel-7", "--json")
    found = json.loads(done.stdout)
    assert found["pixel_type"]["key"] == "reel-7"
    assert found["compared"][-1]["difference_percent"] == pytest.approx(1.7)


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("pixel-type", "show", "rgb-6v"), 5, "use one of rgb-5v-nrz800"),
        (("pixel-type", "list", "--file", "absent.yaml"), 2, "it cannot be read"),
        ((*MEASURE, "--full-a", 0.01), 2, "full_a must exceed idle_a"),
        ((*MEASURE, "--full-a", 3, "--white-a", 1), 2, "white_a"),
        ((*MEASURE, "--full-a", 300), 2, "check the number of pixels"),
        ((*MEASURE, "--full-a", 3, "--on", "yesterday"), 2, "write it as 2025-03-31"),
        ((*MEASURE, "--full-a", 3, "--key", "Reel 7"), 2, "is not an id"),
    ],
)
def test_a_mistake_is_named_with_its_remedy(
    stringcourse: Stringcourse, arguments: tuple[object, ...], code: int, words: str
) -> None:
    done = stringcourse(*arguments)
    assert done.returncode == code
    assert words in " ".join(done.stderr.split())
    assert done.stdout == ""


def test_the_help_teaches_how_to_read_a_data_sheet(stringcourse: Stringcourse) -> None:
    said = " ".join(stringcourse("pixel-type", "--help").stdout.split())
    for name, where in READING_A_SHEET:
        assert f"{name}: {where}" in said
    fields = set(PixelType.model_fields) - {"bits_per_colour"}
    assert all(any(field in name for name, _ in READING_A_SHEET) for field in fields)
