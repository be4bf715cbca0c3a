"""`stringcourse zone` and `stringcourse venue level`: what they print, what they change, and how they exit."""

import json

import pytest

from hub.venue_file import read_venue_file
from schemas.venue import Venue
from tests.hub.cli.conftest import Stringcourse
from tests.hub.edge import Edge
from tests.hub.venue_file.test_reading import GOOD


@pytest.fixture
def kiosk(edge: Edge) -> Venue:
    """The kiosk, loaded as its file says."""
    venue = read_venue_file(GOOD)
    edge.inventory.load(venue)
    return venue


def test_level_is_shown_set_and_told(stringcourse: Stringcourse, edge: Edge, kiosk: Venue) -> None:
    options = ("--venue", kiosk.id)
    assert stringcourse("venue", "level", *options).stdout == "kiosk: master level 1\n"
    done = stringcourse("venue", "level", "0.6", *options)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == "kiosk: master level 1 → 0.6. The scene in force is rolled out with it.\n"
    assert edge.inventory.venue("kiosk").master_level == 0.6
    assert "0.6 already; nothing changes" in stringcourse("venue", "level", "0.6", *options).stdout
    assert json.loads(stringcourse("venue", "level", *options, "--json").stdout) == {"level": 0.6}


def test_level_out_of_range_changes_nothing(stringcourse: Stringcourse, edge: Edge, kiosk: Venue) -> None:
    done = stringcourse("venue", "level", "60", "--venue", kiosk.id)
    assert done.returncode == 2
    assert "less than or equal to 1" in done.stderr
    assert edge.inventory.venue("kiosk") == kiosk


def test_trim_changes_what_is_named_and_leaves_the_rest(stringcourse: Stringcourse, edge: Edge, kiosk: Venue) -> None:
    options = ("--venue", kiosk.id)
    done = stringcourse("zone", "trim", "sill", "--level", "0.7", "--white-k", "3000", *options)
    assert (done.returncode, done.stderr) == (0, "")
    assert "sill: level 1, white as scenes say → level 0.7, white of 3000 K. The scene in force" in done.stdout
    stringcourse("zone", "trim", "sill", "--level", "0.5", *options)
    sill = edge.inventory.venue("kiosk").zones[0]
    assert (sill.trim, sill.white_point_k, sill.spans) == (0.5, 3_000.0, kiosk.zones[0].spans)
    rows = [line.split() for line in stringcourse("zone", "list", *options).stdout.splitlines()]
    assert rows[1] == ["sill", "–", "30", "–", "0.5", "3000.0"]
    stringcourse("zone", "trim", "sill", "--level", "1", "--scenes-white", *options)
    assert edge.inventory.venue("kiosk") == kiosk


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        ((), 2, "nothing to trim: give --level, --white-k or --scenes-white"),
        (("--white-k", "3000", "--scenes-white"), 2, "give one of them"),
        (("--white-k", "300"), 2, "1000"),
        (("--level", "1.5"), 2, "less than or equal to 1"),
    ],
)
def test_trim_that_cannot_be_is_refused(
    stringcourse: Stringcourse, kiosk: Venue, arguments: tuple[str, ...], code: int, words: str
) -> None:
    done = stringcourse("zone", "trim", "sill", *arguments, "--venue", kiosk.id)
    assert done.returncode == code
    assert words in done.stderr


def test_zone_that_is_not_there_is_told(stringcourse: Stringcourse, kiosk: Venue) -> None:
    done = stringcourse("zone", "trim", "roof", "--level", "0.5", "--venue", kiosk.id)
    assert done.returncode == 5
    assert "roof" in done.stderr
