"""An export is a file that a person can read, and loading it gives the same venue."""

import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from hub.venue_file import check_venue, read_venue, read_venue_file, write_venue
from schemas.venue import Venue
from tests.hub.venue_file.test_reading import DEMO, GOOD
from tests.hub.venue_file.venues import venues

SLOW_TO_DRAW = settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])


@SLOW_TO_DRAW
@given(venue=venues())
def test_export_then_load_gives_the_same_venue(venue: Venue) -> None:
    assert check_venue(venue) == []
    assert read_venue(write_venue(venue).encode()) == venue


@SLOW_TO_DRAW
@given(venue=venues())
def test_export_is_the_same_to_another_reader_of_yaml(venue: Venue) -> None:
    loaded = YAML(typ="safe", pure=True).load(io.StringIO(write_venue(venue)))
    assert Venue.model_validate_json(venue.model_dump_json()) == venue
    assert loaded["title"] == venue.title
    assert [scene["title"] for scene in loaded.get("scenes", [])] == [scene.title for scene in venue.scenes]
    assert loaded.get("note", "") == venue.note


@pytest.mark.parametrize("file", [GOOD, *DEMO], ids=lambda file: file.stem)
def test_export_of_a_written_file_is_readable(file: Path) -> None:
    venue = read_venue_file(file)
    text = write_venue(venue)
    assert read_venue(text.encode()) == venue
    assert max(map(len, text.splitlines())) <= 160
    assert "derating" not in text or any(supply.derating != 0.8 for supply in venue.supplies)


@settings(max_examples=40)
@given(
    note=st.text(st.sampled_from(" \t\n\\\"':#-a\u00e9\u2028\U0001f600"), min_size=80, max_size=400)
    | st.text("ab ", min_size=300)
)
def test_long_text_is_folded_and_survives(note: str) -> None:
    venue = read_venue_file(GOOD).model_copy(update={"note": note[:400]})
    text = write_venue(venue)
    assert max(map(len, text.splitlines())) <= 120
    assert read_venue(text.encode()) == venue
    assert YAML(typ="safe", pure=True).load(io.StringIO(text))["note"] == venue.note


@pytest.mark.parametrize(
    "title", ["yes", "null", "1e3", "a: b", "a #b", "- a", "'", '"', "\\", " a ", "é\u2028\U0001f600", "a\tb"]
)
def test_title_that_yaml_would_take_for_something_else_survives(title: str) -> None:
    if "\t" in title:
        venue = read_venue_file(GOOD).model_copy(update={"note": title})
    else:
        venue = read_venue_file(GOOD).model_copy(update={"title": title})
    assert read_venue(write_venue(venue).encode()) == venue
