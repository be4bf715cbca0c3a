"""`stringcourse venue`: what it prints, what it changes, and how it exits."""

import json
from pathlib import Path

import pytest

from hub.venue_file import read_venue_file, write_venue
from schemas.venue import Venue
from tests.hub.cli.conftest import Stringcourse
from tests.hub.edge import Edge
from tests.hub.venue_file.test_reading import FAULTY, GOOD
from tests.hub.venue_file.venues import changed

WORST = next(file for file in FAULTY if file.stem == "mistakes-of-every-sort-at-once")
FREE_OF_HUBS = "http://127.0.0.1:9"


@pytest.fixture
def kiosk(edge: Edge) -> Venue:
    """The kiosk, loaded as its file says."""
    venue = read_venue_file(GOOD)
    edge.inventory.load(venue)
    return venue


def test_check_needs_no_hub_and_says_how_large_the_venue_is(stringcourse: Stringcourse) -> None:
    done = stringcourse("venue", "check", GOOD, STRINGCOURSE_HUB=FREE_OF_HUBS, STRINGCOURSE_TOKEN="")
    assert (done.returncode, done.stderr) == (0, "")
    assert "no mistakes. 1 node, 2 channels, 50 pixels, 3 zones, 1 scene, 2 supplies" in done.stdout


def test_check_prints_every_mistake_with_its_line_and_exits_1(stringcourse: Stringcourse) -> None:
    done = stringcourse("venue", "check", WORST)
    assert done.returncode == 1
    assert "has 6 mistakes" in done.stderr
    rows = done.stdout.splitlines()
    assert rows[0].split() == ["line", "field", "what", "is", "wrong", "what", "to", "do"]
    assert len(rows) == 1 + 6
    assert rows[1].split()[:2] == ["17", "supplies[1].rated_a"]


def test_check_tells_programs_the_same(stringcourse: Stringcourse) -> None:
    done = stringcourse("venue", "check", WORST, "--json")
    mistakes = json.loads(done.stdout)["mistakes"]
    assert (done.returncode, len(mistakes)) == (1, 6)
    assert set(mistakes[0]) == {"field", "reason", "remedy", "line"}
    assert json.loads(stringcourse("venue", "check", GOOD, "--json").stdout) == {"mistakes": []}


def test_check_of_a_file_that_is_not_there_is_told(stringcourse: Stringcourse) -> None:
    done = stringcourse("venue", "check", "missing.yaml")
    assert done.returncode == 1
    assert "missing.yaml cannot be read" in done.stderr


def test_load_shows_what_will_change_before_it_does_it(
    stringcourse: Stringcourse, edge: Edge, kiosk: Venue, tmp_path: Path
) -> None:
    file = tmp_path / "kiosk.yaml"
    file.write_text(write_venue(changed(kiosk, title="Other")))
    refused = stringcourse("venue", "load", file, answer="n\n")
    assert refused.returncode == 1
    assert "title: Kiosk → Other" in refused.stdout
    assert "nothing was changed" in refused.stderr
    assert edge.inventory.venue("kiosk").title == "Kiosk"
    agreed = stringcourse("venue", "load", file, answer="y\n")
    assert (agreed.returncode, edge.inventory.venue("kiosk").title) == (0, "Other")
    assert "kiosk is loaded" in agreed.stdout


def test_load_without_an_answer_changes_nothing(
    stringcourse: Stringcourse, edge: Edge, kiosk: Venue, tmp_path: Path
) -> None:
    file = tmp_path / "kiosk.yaml"
    file.write_text(write_venue(changed(kiosk, title="Other")))
    assert stringcourse("venue", "load", file).returncode == 1
    assert edge.inventory.venue("kiosk") == kiosk


def test_load_of_a_new_venue_with_yes(stringcourse: Stringcourse, edge: Edge, kiosk: Venue, tmp_path: Path) -> None:
    file = tmp_path / "new.yaml"
    file.write_text(write_venue(changed(kiosk, id="new")))
    done = stringcourse("venue", "load", file, "--yes")
    assert (done.returncode, edge.inventory.venue("new")) == (0, changed(kiosk, id="new"))


def test_load_of_the_same_says_so(stringcourse: Stringcourse, kiosk: Venue) -> None:
    assert kiosk.id == "kiosk"
    done = stringcourse("venue", "load", GOOD)
    assert (done.returncode, "there is nothing to change" in done.stdout) == (0, True)


def test_load_for_programs_never_asks(stringcourse: Stringcourse, edge: Edge, kiosk: Venue, tmp_path: Path) -> None:
    file = tmp_path / "kiosk.yaml"
    file.write_text(write_venue(changed(kiosk, title="Other")))
    preview = json.loads(stringcourse("venue", "load", file, "--json").stdout)
    assert (preview["done"], edge.inventory.venue("kiosk")) == (False, kiosk)
    loaded = json.loads(stringcourse("venue", "load", file, "--json", "--yes").stdout)
    assert (loaded["done"], loaded["changes"]) == (True, preview["changes"])
    assert edge.inventory.venue("kiosk").title == "Other"


def test_load_of_a_faulty_file_tells_all_and_sends_nothing(stringcourse: Stringcourse) -> None:
    done = stringcourse("venue", "load", WORST, "--yes", STRINGCOURSE_HUB=FREE_OF_HUBS)
    assert done.returncode == 2
    assert "supplies[1].rated_a" in done.stderr


def test_export_then_load_gives_the_same_venue(
    stringcourse: Stringcourse, edge: Edge, kiosk: Venue, tmp_path: Path
) -> None:
    assert stringcourse("venue", "export", "kiosk", "out.yaml").returncode == 0
    assert read_venue_file(tmp_path / "out.yaml") == kiosk
    assert stringcourse("venue", "export", "kiosk").stdout == (tmp_path / "out.yaml").read_text()
    assert stringcourse("venue", "load", "out.yaml").returncode == 0
    assert edge.inventory.venue("kiosk") == kiosk


def test_export_writes_over_nothing_unless_told(stringcourse: Stringcourse, kiosk: Venue, tmp_path: Path) -> None:
    (tmp_path / "out.yaml").write_text("mine")
    refused = stringcourse("venue", "export", kiosk.id, "out.yaml")
    assert (refused.returncode, (tmp_path / "out.yaml").read_text()) == (2, "mine")
    assert stringcourse("venue", "export", kiosk.id, "out.yaml", "--force").returncode == 0
    assert read_venue_file(tmp_path / "out.yaml") == kiosk


def test_list_shows_venues_to_people_and_programs(stringcourse: Stringcourse, kiosk: Venue) -> None:
    people = stringcourse("venue", "list")
    assert (people.returncode, kiosk.title in people.stdout) == (0, True)
    programs = json.loads(stringcourse("venue", "list", "--json").stdout)
    assert next(venue for venue in programs if venue["id"] == "kiosk")["pixels"] == 50


@pytest.mark.parametrize(
    ("arguments", "environment", "code", "words"),
    [
        (("venue", "export", "none"), {}, 5, "there is no venue 'none'"),
        (("venue", "export", "../supplies"), {}, 2, "path.venue"),
        (("venue", "list"), {"STRINGCOURSE_HUB": FREE_OF_HUBS}, 3, "no hub answers at http://127.0.0.1:9"),
        (("venue", "list"), {"STRINGCOURSE_HUB": "nonsense"}, 3, "no hub answers at nonsense"),
        (("venue", "list"), {"STRINGCOURSE_TOKEN": ""}, 4, "set STRINGCOURSE_TOKEN"),
        (("venue", "list"), {"STRINGCOURSE_TOKEN": "wrong"}, 4, "the hub does not know this token"),
        (("venue", "list"), {"STRINGCOURSE_TOKEN": "wr\x1bong"}, 4, "holds no token"),
        (("venue", "lits"), {}, 2, "No such command"),
        (("venue", "check"), {}, 2, "Missing argument"),
    ],
)
def test_exit_code_tells_what_kind_of_failure_it_was(
    stringcourse: Stringcourse, arguments: tuple[str, ...], environment: dict[str, str], code: int, words: str
) -> None:
    done = stringcourse(*arguments, **environment)
    assert (done.returncode, words in done.stderr) == (code, True), done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.usefixtures("kiosk")
def test_about_sets_place_and_time_zone(stringcourse: Stringcourse, edge: Edge) -> None:
    there = ("--time-zone", "America/New_York", "--latitude", 40.89, "--longitude", -83.89)
    done = stringcourse("venue", "about", *there, "--venue", "kiosk")
    assert (done.returncode, done.stderr) == (0, "")
    assert "set time zone, place" in done.stdout
    assert edge.inventory.venue("kiosk").time_zone == "America/New_York"
    shown = json.loads(stringcourse("venue", "about", "--venue", "kiosk", "--json").stdout)
    assert shown["place"] == {"latitude_deg": 40.89, "longitude_deg": -83.89}
    half = stringcourse("venue", "about", "--latitude", 40.89, "--venue", "kiosk")
    assert (half.returncode, "--longitude" in half.stderr) == (2, True)
    wrong = stringcourse("venue", "about", "--time-zone", "Amerika", "--venue", "kiosk")
    assert "time_zone" in wrong.stderr
    assert edge.inventory.venue("kiosk").time_zone == "America/New_York"


@pytest.mark.usefixtures("kiosk")
def test_tags_of_a_node_are_added_and_removed(stringcourse: Stringcourse, edge: Edge) -> None:
    add = ("--add", "upstairs", "--add", "window", "--add", "upstairs")
    assert stringcourse("node", "tag", "front", *add, "--venue", "kiosk").stdout == "front: upstairs, window\n"
    assert stringcourse("node", "tag", "front", "--remove", "window", "--venue", "kiosk").stdout == "front: upstairs\n"
    assert edge.inventory.venue("kiosk").nodes[0].tags == ("upstairs",)
