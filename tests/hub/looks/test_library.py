"""The library: fifteen looks that fit any venue, held to it on the smallest demo venue and on the largest."""

import functools
import json
from pathlib import Path

import pytest
from hatchling.builders.wheel import WheelBuilder
from pydantic import ValidationError

from hub.looks import Look, LookZones, look_of, looks, scene_of
from hub.looks.look import ROLES
from hub.looks.sheet import lights_of
from hub.scenes.elevation import elevation_of
from hub.scenes.flash import FlashVerdict, check_flashes
from hub.scenes.preview import ScenePreview, preview_draft
from hub.venue_file import read_venue_file
from schemas import Venue
from schemas.pattern import PATTERNS
from tests.deploy.test_demo_venues import ARCADE_ROLES, DEMO

SMALLEST, LARGEST = "1-one-run.yaml", "arcade.yaml"
ZONES = {SMALLEST: {"front": "shelf"}, LARGEST: ARCADE_ROLES}
VENUES = (SMALLEST, LARGEST)
LOOKS = tuple(looks())
LONGEST_PERIOD_S = 200.0
MOST_DIMMED = 0.4
"""A look may lose so much to the budget on supplies far below its pixels' worst case, and no more."""

on_both_venues = pytest.mark.parametrize("name", VENUES)
every_look = pytest.mark.parametrize("look", LOOKS)


@functools.cache
def venue(name: str) -> Venue:
    return read_venue_file(DEMO / name)


def zones(name: str) -> LookZones:
    return LookZones.model_validate(ZONES[name])


@functools.cache
def previewed(name: str, look: str) -> ScenePreview:
    return preview_draft(venue(name), scene_of(look_of(look), zones(name)))


def test_there_are_fifteen_and_each_file_is_named_for_its_look() -> None:
    folder = Path(__file__).parents[3] / "hub" / "looks" / "library"
    assert sorted(path.stem for path in folder.iterdir()) == list(LOOKS)
    assert len(LOOKS) == 15
    assert len({look.title for look in looks().values()}) == 15


def test_wheel_carries_every_look() -> None:
    packed = {file.distribution_path for file in WheelBuilder(str(DEMO.parents[1])).recurse_included_files()}
    assert {f"hub/looks/library/{look}.yaml" for look in LOOKS} <= packed


def test_between_them_they_speak_the_whole_language() -> None:
    layers = [layer for look in looks().values() for layer in look.layers]
    used = {pattern.pattern for layer in layers for pattern in (layer.pattern, layer.mask) if pattern}
    assert used == PATTERNS.keys() - {"spot"}, "spot names pixels, which no look can know"
    assert {layer.blend for layer in layers} == {"normal", "add", "lighten", "multiply"}
    assert {layer.zone for layer in layers} == set(ROLES)


@every_look
def test_roles_are_those_of_its_layers_and_front_alone_is_needed(look: str) -> None:
    found = look_of(look)
    assert {one.role for one in found.roles} == {layer.zone for layer in found.layers}
    assert [one.role for one in found.roles if one.required] == ["front"]
    bare = scene_of(found, LookZones(front="shelf"))
    assert {layer.zone for layer in bare.layers} == {"shelf"}
    assert len(bare.layers) == sum(layer.zone == "front" for layer in found.layers)


def test_look_that_leaves_the_front_out_is_refused() -> None:
    of_lines = look_of("lamplight").model_dump(mode="json")
    of_lines["layers"] = [layer for layer in of_lines["layers"] if layer["zone"] != "front"]
    with pytest.raises(ValidationError, match="the lowest layer lies over `front`"):
        Look.model_validate_json(json.dumps(of_lines))


@on_both_venues
@every_look
def test_preview_sees_its_whole_period_and_the_budget_hardly_dims_it(name: str, look: str) -> None:
    preview = previewed(name, look)
    assert preview.whole
    assert preview.window_s <= LONGEST_PERIOD_S
    assert all(supply.limiter_scale >= MOST_DIMMED for supply in preview.supplies)


@on_both_venues
@every_look
def test_front_is_lit_at_every_instant(name: str, look: str) -> None:
    """Each pixel that the look lies over has some light; none is black for want of a role."""
    scene = scene_of(look_of(look), zones(name))
    lights = lights_of(venue(name), [scene])
    for at_s in previewed(name, look).instants_s:
        light = lights.linear_of(scene, at_s).max(axis=1)
        assert (light > 0.001).mean() > 0.97, f"{at_s} s"
    assert len(light) == elevation_of(venue(name)).pixels


@every_look
def test_nothing_flashes(look: str) -> None:
    """On the shelf; five are checked on the arcade with its own file, all on two boards when those are asked to take
    them (tests/e2e/test_preview_equals_boards.py)."""
    report = check_flashes(venue(SMALLEST), scene_of(look_of(look), zones(SMALLEST)))
    assert report.whole
    assert report.verdict is FlashVerdict.PASSES, report.summary
