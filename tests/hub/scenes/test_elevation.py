import numpy as np

from hub.desired import compile_bodies, join_bodies
from hub.scenes import elevation_of
from hub.scenes.elevation import pixel_centres
from node_agent.render import channel_slices, place_zone
from tests.hub.desired.venues import row_document, row_venue, venue_from


def test_pixels_lie_evenly_with_half_a_pitch_at_both_ends() -> None:
    assert pixel_centres([(0.0, 1.0), (4.0, 1.0)], 4).tolist() == [[0.5, 1.0], [1.5, 1.0], [2.5, 1.0], [3.5, 1.0]]


def test_pixels_follow_the_corners_of_a_path() -> None:
    points = pixel_centres([(0.0, 0.0), (2.0, 0.0), (2.0, 2.0)], 4)
    assert points.tolist() == [[0.5, 0.0], [1.5, 0.0], [2.0, 0.5], [2.0, 1.5]]


def test_pixels_lie_where_the_boards_render_them() -> None:
    venue = row_venue(nodes=2, pixels=7)
    bodies = compile_bodies(venue, "dusk", 5.0)
    joined = join_bodies(bodies, venue.scenes, {node: body.budgets for node, body in bodies.items()})
    band = next(zone for zone in joined.body.zones if zone.id == "band")
    placement = place_zone(band, channel_slices(joined.body))
    drawn = [point for zone in elevation_of(venue).zones for span in zone.spans for point in span.points]
    np.testing.assert_allclose(np.array(drawn), np.stack([placement.x_m, placement.y_m], axis=1), atol=1e-4)


def test_offsets_follow_node_channel_and_pixel_whatever_the_order_of_zones() -> None:
    document = row_document(nodes=2, pixels=10)
    document["zones"] = [document["zones"][1], document["zones"][0], document["zones"][2]]
    drawn = elevation_of(venue_from(document))
    offsets = {(span.node, span.channel): span.offset for zone in drawn.zones for span in zone.spans}
    assert offsets == {("bay-0001", 1): 0, ("bay-0001", 2): 10, ("bay-0002", 1): 20, ("bay-0002", 2): 30}
    assert drawn.pixels == 40


def test_zones_that_join_others_are_not_drawn_twice() -> None:
    assert [zone.id for zone in elevation_of(row_venue(nodes=2)).zones] == ["zone-bay-0001", "zone-bay-0002"]


def test_pixels_outside_every_zone_are_not_drawn() -> None:
    document = row_document(nodes=1, pixels=10)
    document["zones"][0]["spans"][0] |= {"first": 4, "pixels": 3}
    drawn = elevation_of(venue_from(document))
    assert [(span.first, span.offset, len(span.points)) for zone in drawn.zones for span in zone.spans] == [
        (4, 0, 3),
        (0, 3, 10),
    ]


def test_extent_holds_every_pixel() -> None:
    drawn = elevation_of(row_venue(nodes=2, pixels=2))
    assert (drawn.x_min_m, drawn.x_max_m, drawn.y_min_m, drawn.y_max_m) == (0.25, 3.75, 3.0, 3.0)


def test_venue_without_zones_has_an_empty_elevation() -> None:
    document = row_document(nodes=1) | {"zones": [], "scenes": [], "opening_scene": None}
    assert elevation_of(venue_from(document)).pixels == 0
