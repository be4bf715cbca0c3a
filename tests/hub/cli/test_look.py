"""`stringcourse look`: `add` against a hub, the rest without one."""

import json
from pathlib import Path

import pytest
from PIL import Image

from hub.looks import looks
from hub.venue_file import read_venue_file
from tests.hub.cli.conftest import Stringcourse
from tests.hub.edge import Edge
from tests.hub.venue_file.test_reading import GOOD

DEMO = Path(__file__).parents[3] / "deploy" / "demo"
ALONE = {"STRINGCOURSE_HUB": "http://127.0.0.1:9", "STRINGCOURSE_TOKEN": ""}
KIOSK_ROLES = ("--venue", "kiosk", "--zone", "front=sill", "--zone", "openings=lintel")


@pytest.fixture(autouse=True)
def _kiosk(edge: Edge) -> None:
    edge.inventory.load(read_venue_file(GOOD))


def test_looks_are_listed_and_shown_without_a_hub(stringcourse: Stringcourse) -> None:
    listed = stringcourse("look", "list", **ALONE)
    assert listed.returncode == 0, listed.stderr
    assert all(look in listed.stdout for look in looks())
    shown = stringcourse("look", "show", "storm-watch", **ALONE)
    assert "while wind is forecast" in shown.stdout
    assert "needed" in shown.stdout
    assert json.loads(stringcourse("look", "show", "storm-watch", "--json").stdout)["id"] == "storm-watch"


def test_help_tells_the_roles(stringcourse: Stringcourse) -> None:
    helped = stringcourse("look", "--help", **ALONE).stdout
    assert all(f"{role}:" in helped for role in ("front", "lines", "uprights", "openings", "accent", "ceiling", "sign"))


def test_look_is_added_once_and_replaced_on_purpose(stringcourse: Stringcourse) -> None:
    added = stringcourse("look", "add", "lamplight", *KIOSK_ROLES, "--id", "friday", "--title", "Friday")
    assert added.returncode == 0, added.stderr
    assert "friday is a scene of the venue now, of 2 layers." in added.stdout
    assert "Left out, for want of a zone: lines, uprights, accent, ceiling." in added.stdout
    again = stringcourse("look", "add", "hearth", *KIOSK_ROLES, "--id", "friday")
    assert (again.returncode, "it exists already" in again.stderr) == (6, True)
    replaced = stringcourse("look", "add", "hearth", *KIOSK_ROLES, "--id", "friday", "--replace", "--json")
    assert (replaced.returncode, json.loads(replaced.stdout)["title"]) == (0, "Hearth")


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("add", "laser", "--zone", "front=sill"), 5, "use one of deep-water"),
        (("add", "hearth"), 2, "`front` is needed"),
        (("add", "hearth", "--zone", "sill"), 2, "'sill' is not ROLE=ZONE"),
        (("add", "hearth", "--zone", "front=sill", "--zone", "front=lintel"), 2, "names the role 'front' again"),
        (("add", "hearth", "--zone", "front=sill", "--zone", "roof=lintel"), 2, "the roles are front, lines"),
        (("add", "hearth", "--venue", "kiosk", "--zone", "front=sil"), 2, "did you mean 'sill'?"),
        (("sheet", "--file", GOOD, "--zone", "front=sil", "--out", "sheet.png"), 2, "did you mean 'sill'?"),
        (("sheet", "--file", GOOD, "--out", GOOD), 2, "exists"),
    ],
)
def test_what_does_not_fit_is_told(
    stringcourse: Stringcourse, arguments: tuple[object, ...], code: int, words: str
) -> None:
    done = stringcourse("look", *arguments)
    assert (done.returncode, words in done.stderr) == (code, True), done.stderr


def test_sheet_draws_looks_and_the_venues_own_scenes(stringcourse: Stringcourse, tmp_path: Path) -> None:
    heights = []
    for number, zones in enumerate([(), ("--zone", "front=shelf")]):
        file = tmp_path / f"sheet-{number}.png"
        done = stringcourse("look", "sheet", "--file", DEMO / "1-one-run.yaml", *zones, "--out", file, **ALONE)
        assert done.returncode == 0, done.stderr
        with Image.open(file) as picture:
            heights.append(picture.height)
    scenes = {scene.id for scene in read_venue_file(DEMO / "1-one-run.yaml").scenes}
    # The venue holds one of the looks, which is drawn once.
    assert heights[1] / heights[0] == pytest.approx(len(scenes | looks().keys()) / len(scenes), rel=0.05)


def test_sheet_of_a_hubs_venue(stringcourse: Stringcourse, tmp_path: Path) -> None:
    done = stringcourse("look", "sheet", "--venue", "kiosk", "--out", "sheet.png")
    assert done.returncode == 0, done.stderr
    with Image.open(tmp_path / "sheet.png") as picture:
        assert picture.format == "PNG"
