"""The built-in work light: on every board, in every document, under the budget, and in nobody's way."""

import numpy as np
import pytest

from hub.desired import Choices, Chosen, compile_bodies, compile_documents
from hub.desired.work_light import WORK_LIGHT, scenes_with_work_light
from hub.scenes.lights import VenueLights
from hub.venue_file.checking import find_faults
from node_agent.limiter import BudgetLimiter
from node_agent.render import Renderer, linear_of_kelvin
from schemas import DesiredBody, Venue, body_sha256
from schemas.bounds import MAX_SCENES, MAX_SPANS_PER_ZONE
from tests.hub.desired.venues import row_document, row_venue, venue_from

DARK = Choices(Chosen(None))


def bodies_of(venue: Venue) -> dict[str, DesiredBody]:
    return {node: one.body for node, one in compile_documents(venue, DARK, 5.0).items()}


def test_every_pixel_of_a_zone_is_neutral_white_at_half_light() -> None:
    for body in bodies_of(row_venue()).values():
        light = Renderer(body).render(body.scenes[-1], 12.5)
        np.testing.assert_allclose(light, np.tile(linear_of_kelvin(4_000.0) * 0.5, (60, 1)), atol=1e-6)


@pytest.mark.parametrize(("master_level", "seen"), [(1.0, 0.5), (0.625, 0.5), (0.25, 0.25), (0.0, 0.0)])
def test_master_level_does_not_dim_it_as_far_as_can_be(master_level: float, seen: float) -> None:
    venue = row_venue(nodes=1).model_copy(update={"master_level": master_level})
    body = bodies_of(venue)["bay-0001"]
    light = Renderer(body).render(body.scenes[-1], 0.0)
    np.testing.assert_allclose(light[0], linear_of_kelvin(4_000.0) * seen, atol=1e-6)


def test_pixels_in_no_zone_stay_dark_and_a_node_without_zones_carries_no_zone() -> None:
    document = row_document(nodes=2, pixels=30)
    document["zones"][0]["spans"][0] |= {"first": 1, "pixels": 29}
    document["zones"] = [document["zones"][0]]
    document["scenes"] = []
    document["opening_scene"] = None
    bodies = bodies_of(venue_from(document))
    light = Renderer(bodies["bay-0001"]).render(bodies["bay-0001"].scenes[0], 0.0)
    assert not light[0].any()
    assert light[1:].all()
    assert bodies["bay-0002"].zones == ()
    assert bodies["bay-0002"].scenes[0].layers == ()


def test_documents_pass_the_contract_and_their_hash() -> None:
    for one in compile_documents(row_venue(), Choices(Chosen(WORK_LIGHT)), 5.0).values():
        assert DesiredBody.model_validate_json(one.canonical) == one.body
        assert body_sha256(one.body) == one.sha256
        assert one.body.showing == WORK_LIGHT


def test_it_is_under_the_budget_as_every_scene() -> None:
    body = bodies_of(row_venue(nodes=1, pixels=400))["bay-0001"]
    limited = BudgetLimiter(body).limit(Renderer(body).render(body.scenes[-1], 0.0), 0.02)
    assert (limited.scale < 1).all()
    assert all(amps <= budget.budget_a for amps, budget in zip(limited.amps, body.budgets, strict=True))


def test_venue_with_a_scene_of_that_name_keeps_its_own() -> None:
    document = row_document()
    document["scenes"][1]["id"] = WORK_LIGHT
    venue = venue_from(document)
    assert bodies_of(venue)["bay-0002"] == compile_bodies(venue, None, 5.0)["bay-0002"]
    assert scenes_with_work_light(venue) == venue.scenes


def test_zone_of_that_name_is_left_alone() -> None:
    document = row_document(nodes=1)
    document["zones"][1]["id"] = WORK_LIGHT
    for scene in document["scenes"]:
        for layer in scene["layers"]:
            layer["zone"] = WORK_LIGHT
    body = bodies_of(venue_from(document))["bay-0001"]
    assert [zone.id for zone in body.zones] == [WORK_LIGHT, "work-light-2"]
    assert Renderer(body).render(body.scenes[-1], 0.0).all()


def test_venue_that_is_full_of_scenes_still_has_it() -> None:
    document = row_document(nodes=1)
    document["scenes"] = [document["scenes"][0] | {"id": f"scene-{n}"} for n in range(MAX_SCENES)]
    document["opening_scene"] = None
    body = bodies_of(venue_from(document))["bay-0001"]
    assert len(DesiredBody.model_validate_json(body.model_dump_json()).scenes) == MAX_SCENES + 1


def test_node_with_more_stretches_than_a_document_may_name_is_lit_throughout() -> None:
    document = row_document(nodes=1, pixels=1_000)
    for channel in document["nodes"][0]["channels"]:
        channel["run"]["pixels"] = 4_000
    halves = [
        [
            {"node": "bay-0001", "channel": channel, "first": first, "pixels": 1, "path": [[0.0, 0.0], [1.0, 0.0]]}
            for first in range(0, 4_000, 3)
        ]
        for channel in (1, 2)
    ]
    document["zones"] = [{"id": f"half-{n}", "spans": spans} for n, spans in enumerate(halves)]
    document["scenes"] = []
    document["opening_scene"] = None
    zone = bodies_of(venue_from(document))["bay-0001"].zones[-1]
    assert sum(len(spans) for spans in halves) > MAX_SPANS_PER_ZONE
    assert [(span.channel, span.first, span.pixels) for span in zone.spans] == [(1, 0, 4_000), (2, 0, 4_000)]


def test_screens_show_it_as_the_boards_do() -> None:
    venue = row_venue()
    lights = VenueLights(venue, bodies_of(venue))
    codes = lights.limit(lights.linear(WORK_LIGHT, 3.0), 0.02).codes
    assert (codes[:, 0] == codes[0, 0]).all()
    assert codes[0, 0] > codes[0, 2] > 0


def test_timetable_and_cues_may_name_it_without_the_venue_having_it() -> None:
    document = row_document()
    document["timetable"] = [{"id": "cleaning", "scene": WORK_LIGHT, "begins": "06:00", "ends": "07:00"}]
    document["cue_lists"] = [{"id": "evening", "title": "Evening", "cues": [{"id": "out", "scene": WORK_LIGHT}]}]
    assert not find_faults(venue_from(document))
