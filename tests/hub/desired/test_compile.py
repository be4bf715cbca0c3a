import json

import pytest

from hub.desired import Choices, Chosen, compile_bodies, compile_documents, desired_payload, show_another
from hub.errors import InvalidError, NotFoundError
from schemas import PIXEL_CATALOGUE, Desired, DesiredBody, Scene, TakeTime, TimedTake, body_sha256
from schemas.bounds import MAX_ZONES_PER_NODE
from tests.hub.desired.venues import row_document, row_venue, venue_from

DUSK = Choices(Chosen("dusk"))


def test_bodies_pass_the_contract_they_were_built_past() -> None:
    for body in compile_bodies(row_venue(), "dusk", 5.0).values():
        assert DesiredBody.model_validate_json(body.model_dump_json()) == body


def test_group_zone_counts_metres_and_pixels_on_across_nodes() -> None:
    bodies = compile_bodies(row_venue(nodes=3, pixels=30), "dusk", 5.0)
    band = {zone.id: zone for zone in bodies["bay-0002"].zones}["band"]
    assert [(span.start_m, span.start_index) for span in band.spans] == [(2.0, 60), (3.0, 90)]
    assert (band.extent.length_m, band.extent.pixels) == (6.0, 180)
    assert (band.extent.x_min_m, band.extent.x_max_m, band.extent.y_min_m) == (0.0, 6.0, 3.0)


def test_groups_of_groups_keep_the_order_they_are_named_in() -> None:
    document = row_document(nodes=3)
    document["zones"].append({"id": "outer", "of": ["zone-bay-0003", "band"]})
    document["scenes"][0]["layers"][0]["zone"] = "outer"
    zone = next(z for z in compile_bodies(venue_from(document), "dusk", 5.0)["bay-0003"].zones if z.id == "outer")
    assert [span.start_index for span in zone.spans] == [0, 30, 180, 210]
    assert zone.extent.pixels == 240


def test_zone_that_joins_itself_is_named() -> None:
    document = row_document(nodes=2)
    document["zones"].append({"id": "ring", "of": ["ring"]})
    with pytest.raises(InvalidError) as caught:
        compile_bodies(venue_from(document), "dusk", 5.0)
    assert caught.value.mistakes[0].field == "zones.ring.of"


def test_layers_over_zones_foreign_to_the_node_are_dropped_and_scenes_are_all_kept() -> None:
    bodies = compile_bodies(row_venue(), "dusk", 5.0)
    assert [len(scene.layers) for scene in bodies["bay-0001"].scenes] == [2, 1]
    assert [len(scene.layers) for scene in bodies["bay-0002"].scenes] == [1, 1]
    assert [zone.id for zone in bodies["bay-0002"].zones] == ["band"]


def test_nodes_in_the_same_zones_share_their_scenes() -> None:
    bodies = compile_bodies(row_venue(), "dusk", 5.0)
    assert bodies["bay-0002"].scenes is bodies["bay-0003"].scenes


def test_boards_get_pixel_types_without_their_sources() -> None:
    channel = compile_bodies(row_venue(1), None, 5.0)["bay-0001"].channels[0]
    assert PIXEL_CATALOGUE[channel.pixel_type.key].sources is not None
    assert channel.pixel_type.sources is None


def test_pixel_type_of_the_venue_is_written_out() -> None:
    document = row_document(nodes=1)
    own = compile_bodies(row_venue(1), None, 5.0)["bay-0001"].channels[0].pixel_type.model_dump(mode="json")
    document["pixel_types"] = [own | {"key": "own-kind", "idle_ma": 0.5}]
    document["nodes"][0]["channels"][1]["run"]["pixel_type"] = "own-kind"
    channels = compile_bodies(venue_from(document), None, 5.0)["bay-0001"].channels
    assert [channel.pixel_type.idle_ma for channel in channels] == [0.9, 0.5]


def test_unknown_scene_is_not_found() -> None:
    with pytest.raises(NotFoundError):
        compile_bodies(row_venue(), "noon", 5.0)


def test_same_input_gives_the_same_bytes() -> None:
    first, second = (compile_documents(row_venue(), DUSK, 5.0) for _ in range(2))
    assert {node: one.canonical for node, one in first.items()} == {node: one.canonical for node, one in second.items()}


def test_hash_is_the_one_that_boards_compute() -> None:
    for compiled in compile_documents(row_venue(), DUSK, 5.0).values():
        assert compiled.sha256 == body_sha256(compiled.body)


def test_showing_another_scene_gives_the_bytes_that_compiling_gives() -> None:
    venue = row_venue()
    dusk = compile_documents(venue, DUSK, 5.0)
    takes = (TimedTake(at_ms=9_000, scene="dusk", fade_ms=5), TimedTake(at_ms=10_000))
    for choices in (
        Choices(Chosen("full-white", 7)),
        Choices(Chosen(None)),
        Choices(Chosen("dusk", 7), {"bay-0002": Chosen("full-white", 8)}, takes),
    ):
        compiled = compile_documents(venue, choices, 5.0)
        assert show_another(dusk, venue, choices) == compiled
        assert all(one.sha256 == body_sha256(one.body) for one in compiled.values())
        assert all(json.loads(one.canonical) == one.body.model_dump(mode="json") for one in compiled.values())


@pytest.mark.parametrize(
    "choices",
    [
        Choices(Chosen("noon")),
        Choices(Chosen(None), {"bay-0001": Chosen("noon")}),
        Choices(Chosen(None), {}, (TimedTake(at_ms=1, scene="noon"),)),
    ],
)
def test_scene_that_is_not_there_is_not_found_wherever_it_is_chosen(choices: Choices) -> None:
    with pytest.raises(NotFoundError):
        show_another(compile_documents(row_venue(), DUSK, 5.0), row_venue(), choices)


def test_payload_is_a_desired_document_whose_hash_covers_its_body() -> None:
    compiled = compile_documents(row_venue(), DUSK, 5.0)["bay-0002"]
    for take in (None, TakeTime(at_ms=1_000, fade_ms=500)):
        desired = Desired.model_validate_json(desired_payload("arcade", "bay-0002", 7, compiled, take))
        assert desired.take == take
        assert desired.sha256 == body_sha256(desired.body)


def test_document_too_large_names_the_node_and_a_remedy() -> None:
    document = row_document(nodes=1)
    spans = [{"first": first} for first in range(64)]
    spot = {"zone": "band", "pattern": {"pattern": "spot", "colour": "#ffffff", "spans": spans}}
    document["scenes"] += [
        {"id": f"spots-{number}", "title": "Spots", "layers": [spot] * 16, "note": "x" * 400} for number in range(60)
    ]
    with pytest.raises(InvalidError) as caught:
        compile_documents(venue_from(document), DUSK, 5.0)
    (mistake,) = caught.value.mistakes
    assert mistake.field == "nodes.bay-0001"
    assert "shorten" in mistake.remedy


def test_node_in_too_many_zones_is_named() -> None:
    document = row_document(nodes=1, pixels=200)
    spans = document["zones"][0].pop("spans")
    document["zones"] = [
        {"id": f"z-{first}", "spans": [spans[0] | {"first": first, "pixels": 1}]} for first in range(200)
    ]
    zones = [zone["id"] for zone in document["zones"][: MAX_ZONES_PER_NODE + 1]]
    wash = {"pattern": "wash", "colour": "#101010"}
    document["scenes"] = [
        {"id": f"s-{part}", "title": "S", "layers": [{"zone": z, "pattern": wash} for z in zones[part : part + 16]]}
        for part in range(0, len(zones), 16)
    ]
    document["opening_scene"] = None
    with pytest.raises(InvalidError, match="bay-0001"):
        compile_bodies(venue_from(document), None, 5.0)


def test_scene_filtered_for_a_node_stays_a_scene() -> None:
    scenes = compile_bodies(row_venue(), "dusk", 5.0)["bay-0003"].scenes
    assert all(isinstance(scene, Scene) for scene in scenes)
