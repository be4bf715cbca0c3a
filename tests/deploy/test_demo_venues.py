"""The demo venues are what newcomers see first: they must load, be consistent, and show what their comments say."""

import functools
import json
import math
from datetime import datetime
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from ruamel.yaml import YAML

from hub.looks import LookZones, look_of, scene_of
from hub.scenes.flash import FlashVerdict
from hub.timetable import timed_takes
from hub.venue_file.checking import check_venue
from schemas import PIXEL_CATALOGUE, Channel, Span, Supply, Venue, Zone
from schemas.pattern import PATTERNS
from tests.known_flashes import KnownFlashes

DEMO = Path(__file__).parent.parent.parent / "deploy" / "demo"
FILES = sorted(DEMO.glob("*.yaml"))
ARCADE_LOOKS = ("open-doors", "sundown", "hearth", "sale-day", "storm-watch")
ARCADE_ROLES = {
    "front": "front",
    "lines": "fascia",
    "uprights": "pilasters",
    "openings": "openings",
    "accent": "clock",
    "ceiling": "foyer",
}


@functools.cache
def load(name: str) -> Venue:
    with (DEMO / name).open(encoding="utf-8") as file:
        return Venue.model_validate_json(json.dumps(YAML(typ="safe", pure=True).load(file), default=str))


@pytest.fixture(scope="module")
def arcade() -> Venue:
    return load("arcade.yaml")


def channels(venue: Venue) -> list[Channel]:
    return [channel for node in venue.nodes for channel in node.channels]


def full_a(venue: Venue, supply: Supply) -> float:
    """Amps at full white of every pixel on a supply; a demo run hangs on one supply only."""
    return sum(
        channel.run.pixels * PIXEL_CATALOGUE[channel.run.pixel_type].full_pixel_ma / 1000
        for channel in channels(venue)
        if {feed.supply for feed in channel.run.feeds} == {supply.id}
    )


def typical_a(venue: Venue, supply: Supply) -> float:
    return sum(
        channel.run.pixels * PIXEL_CATALOGUE[channel.run.pixel_type].typical_ma / 1000
        for channel in channels(venue)
        if {feed.supply for feed in channel.run.feeds} == {supply.id}
    )


def spans(venue: Venue, zone: Zone) -> list[Span]:
    by_id = {other.id: other for other in venue.zones}
    return [*zone.spans, *(span for joined in zone.of for span in spans(venue, by_id[joined]))]


def length_m(span: Span) -> float:
    return sum(math.dist(here, there) for here, there in pairwise(span.path))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_demo_venue_has_no_mistake(file: Path) -> None:
    assert check_venue(load(file.name)) == []


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_demo_venue_says_that_it_is_invented(file: Path) -> None:
    assert "nvented" in load(file.name).note
    assert "invented" in file.read_text(encoding="utf-8").split("\nid:")[0]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_demo_venue_warns_before_its_wiring(file: Path) -> None:
    comments = file.read_text(encoding="utf-8").split("\nsupplies:")[0].lower()
    assert all(word in comments for word in ("unplug", "polarity" if "2-" not in file.name else "ground"))
    if file.name != "1-one-run.yaml":
        assert all(word in comments for word in ("fuse", "licensed", "local code"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_every_pixel_of_a_demo_venue_has_a_place(file: Path) -> None:
    venue = load(file.name)
    placed = sum(span.pixels for zone in venue.zones for span in zone.spans)
    assert placed == sum(channel.run.pixels for channel in channels(venue))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_pixels_lie_as_far_apart_as_their_run_says(file: Path) -> None:
    venue = load(file.name)
    pitch = {(node.id, channel.number): channel.run.pixels_per_m for node in venue.nodes for channel in node.channels}
    for zone in venue.zones:
        for span in zone.spans:
            per_m = span.pixels / length_m(span)
            assert per_m == pytest.approx(pitch[span.node, span.channel], rel=0.05), f"{zone.id} {span.node}"


@pytest.mark.parametrize(
    ("name", "scene"), [(file.name, scene.id) for file in FILES for scene in load(file.name).scenes]
)
def test_nothing_in_a_demo_venue_flashes(name: str, scene: str, known_flashes: KnownFlashes) -> None:
    """By the published thresholds, over each scene's whole period as the boards would show it."""
    report = known_flashes.report(load(name), scene)
    assert report.whole
    assert report.verdict is FlashVerdict.PASSES, report.summary


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_opening_scene_reaches_every_node(file: Path) -> None:
    venue = load(file.name)
    scene = next(scene for scene in venue.scenes if scene.id == venue.opening_scene)
    zones = [zone for zone in venue.zones if zone.id in {layer.zone for layer in scene.layers}]
    lit = {span.node for zone in zones for span in spans(venue, zone)}
    assert lit == {node.id for node in venue.nodes}


def test_arcade_is_as_large_as_it_says(arcade: Venue) -> None:
    assert (len(arcade.nodes), len(channels(arcade)), len(arcade.supplies)) == (18, 41, 19)
    assert sum(channel.run.pixels for channel in channels(arcade)) == 3212
    assert {node.frame_rate_limit_hz for node in arcade.nodes} == {25}


def test_arcade_spans_its_front(arcade: Venue) -> None:
    front = next(zone for zone in arcade.zones if zone.id == "front")
    xs = [x for span in spans(arcade, front) for x, _ in span.path]
    assert (min(xs), max(xs)) == (0, 48)


def test_arcade_has_one_supply_of_4_a_with_150_pixels(arcade: Venue) -> None:
    small = [supply for supply in arcade.supplies if supply.rated_a == 4]
    assert [supply.id for supply in small] == ["bay-06-5v"]
    assert full_a(arcade, small[0]) == pytest.approx(9.0)
    assert typical_a(arcade, small[0]) == pytest.approx(3.0)
    assert small[0].budget_a == pytest.approx(3.2)


def test_arcade_has_supplies_with_room_and_supplies_that_need_their_budget(arcade: Venue) -> None:
    room = [supply.id for supply in arcade.supplies if full_a(arcade, supply) <= supply.budget_a]
    by_budget = [
        supply.id for supply in arcade.supplies if typical_a(arcade, supply) <= supply.budget_a < full_a(arcade, supply)
    ]
    assert len(room) >= 4
    assert len(by_budget) >= 4
    assert len(room) + len(by_budget) == len(arcade.supplies)


def test_arcade_has_one_supply_that_two_boards_share(arcade: Venue) -> None:
    boards = {
        supply.id: {
            node.id
            for node in arcade.nodes
            for channel in node.channels
            for feed in channel.run.feeds
            if feed.supply == supply.id
        }
        for supply in arcade.supplies
    }
    assert [supply for supply, nodes in boards.items() if len(nodes) > 1] == ["gable-5v"]


def test_full_white_asks_every_pixel_of_the_arcade_for_everything(arcade: Venue) -> None:
    (layer,) = next(scene for scene in arcade.scenes if scene.id == "full-white").layers
    zone = next(zone for zone in arcade.zones if zone.id == layer.zone)
    assert sum(span.pixels for span in spans(arcade, zone)) == 3212
    assert layer.pattern.model_dump() == {"pattern": "wash", "colour": "#ffffff"}


def test_heavy_scene_has_sixteen_layers_over_every_node(arcade: Venue) -> None:
    scene = next(scene for scene in arcade.scenes if scene.id == "every-lamp-at-once")
    assert [layer.zone for layer in scene.layers] == ["everything"] * 16


def test_arcade_uses_every_pattern_but_text_which_needs_rows(arcade: Venue) -> None:
    used = {layer.pattern.pattern for scene in arcade.scenes for layer in scene.layers}
    assert used == PATTERNS.keys() - {"text"}


@pytest.mark.parametrize(
    ("name", "look", "zones"),
    [
        ("1-one-run.yaml", "hearth", {"front": "shelf"}),
        ("2-two-pitches.yaml", "deep-water", {"front": "corner", "lines": "shelf"}),
        ("3-four-outputs.yaml", "open-doors", {"front": "window"}),
        *(("arcade.yaml", look, ARCADE_ROLES) for look in ARCADE_LOOKS),
    ],
)
def test_demo_shows_looks_as_the_library_makes_them(name: str, look: str, zones: dict[str, str]) -> None:
    scene = next(scene for scene in load(name).scenes if scene.id == look)
    assert scene == scene_of(look_of(look), LookZones.model_validate(zones))


@pytest.mark.parametrize(
    ("name", "nodes", "pixels", "budget_a", "worst_case_a"),
    [
        ("1-one-run.yaml", 1, [30], [0.6], [1.8]),
        ("2-two-pitches.yaml", 1, [60, 40], [6.4], [6.0]),
        ("3-four-outputs.yaml", 1, [48, 72, 48, 72], [4.8, 8.0], [7.2, 7.2]),
        ("4-own-supply.yaml", 1, [150], [3.2], [9.0]),
    ],
)
def test_ladder_has_the_figures_of_its_comments(
    name: str, nodes: int, pixels: list[int], budget_a: list[float], worst_case_a: list[float]
) -> None:
    venue = load(name)
    assert len(venue.nodes) == nodes
    assert [channel.run.pixels for channel in channels(venue)] == pixels
    assert [supply.budget_a for supply in venue.supplies] == pytest.approx(budget_a)
    assert [full_a(venue, supply) for supply in venue.supplies] == pytest.approx(worst_case_a)
    comments = (DEMO / name).read_text(encoding="utf-8")
    assert all(f"{amps:.1f} A" in comments for amps in [*budget_a, *worst_case_a])


@pytest.mark.parametrize(
    ("local", "scene"),
    [
        ("2026-12-02T05:45", "work-light"),
        ("2026-12-02T12:00", None),
        ("2026-12-02T17:00", "evening"),
        ("2026-12-02T23:10", "closing-time"),
        ("2026-12-15T17:00", "frost"),
        ("2026-12-15T23:10", "frost"),
        ("2026-12-06T17:00", None),  # the first Sunday
    ],
)
def test_arcade_keeps_its_hours(arcade: Venue, local: str, scene: str | None) -> None:
    at_s = datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(arcade.time_zone)).timestamp()
    assert timed_takes(arcade, round(at_s * 1_000), days=1)[0].scene == scene


def test_arcade_has_tags_to_select_by_and_a_night_to_run_by_hand(arcade: Venue) -> None:
    assert {tag for node in arcade.nodes for tag in node.tags} == {"bays", "east", "high", "indoors", "west"}
    (night,) = arcade.cue_lists
    assert any(cue.follow_on_s for cue in night.cues)
    assert not any(cue.flash_confirmed_by for cue in night.cues)
