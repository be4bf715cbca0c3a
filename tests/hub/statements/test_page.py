"""The page on scenes can be followed: what it shows to paste is a venue file's, and it names every pattern's fields."""

import re
from pathlib import Path

import pytest

from hub.published import PATTERNS_PAGE
from hub.statements import PatternView, pattern_views
from hub.venue_file import read_venue
from tests.hub.venue_file.test_reading import GOOD

PAGE = (Path(__file__).parents[3] / "schemas" / "published" / PATTERNS_PAGE).read_text(encoding="utf-8")
VENUE = GOOD.read_text(encoding="utf-8")
SCENE = VENUE[: VENUE.index("    layers:\n")]
LAYERS = re.findall(r"```yaml\n(- .*?)```", PAGE, re.DOTALL)


@pytest.mark.parametrize("example", LAYERS, ids=lambda example: re.search(r"pattern: (\w+)", example)[1])  # type: ignore[index]
def test_example_can_be_pasted_into_a_scene(example: str) -> None:
    lines = example.replace("zone: front", "zone: whole").splitlines()
    (scene,) = read_venue("\n".join([f"{SCENE}    layers:", *(f"      {line}" for line in lines)]).encode()).scenes
    assert len(scene.layers) == 1


def test_scene_at_the_top_is_one() -> None:
    scene = re.search(r"```yaml\n(scenes:\n.*?)```", PAGE, re.DOTALL)
    assert scene
    text = re.sub(r"zone: \w+", "zone: whole", f"{VENUE[: VENUE.index('scenes:')]}{scene[1]}")
    assert [layer.blend for layer in read_venue(text.encode()).scenes[0].layers] == ["normal", "add"]


@pytest.mark.parametrize("view", pattern_views(), ids=lambda view: view.pattern)
def test_every_parameter_has_its_row(view: PatternView) -> None:
    (section,) = re.findall(rf"^### {view.pattern}\n(.*?)(?=^### |\Z)", PAGE, re.DOTALL | re.MULTILINE)
    for one in view.parameters:
        assert re.search(rf"^\| `{one.name}` \|", section, re.MULTILINE)
