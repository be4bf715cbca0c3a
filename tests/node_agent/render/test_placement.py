"""Where pixels are: in the frame, along the zone and on the elevation."""

import numpy as np
import pytest

from node_agent.render import PlacementError, channel_slices, place_zone
from schemas import DesiredBody, DesiredZone, Extent, PlacedSpan
from tests.node_agent.render.zones import channel, whole_body

L_SHAPE = PlacedSpan(
    channel=2, first=4, pixels=4, path=((1.0, 2.0), (4.0, 2.0), (4.0, 1.0)), start_m=10.0, start_index=100
)
EXTENT = Extent(length_m=20.0, pixels=200, x_min_m=1.0, x_max_m=5.0, y_min_m=0.0, y_max_m=4.0)
BODY = DesiredBody(telemetry_interval_s=5.0, channels=(channel(2, 10), channel(1, 30)))


def test_channels_follow_one_another_in_order_of_their_numbers() -> None:
    assert dict(channel_slices(BODY)) == {1: slice(0, 30), 2: slice(30, 40)}


def test_a_channel_that_appears_twice_is_refused() -> None:
    body = DesiredBody(telemetry_interval_s=5.0, channels=(channel(1, 10), channel(1, 10)))
    with pytest.raises(PlacementError, match="channel 1 appears twice; give each run its own channel"):
        channel_slices(body)


def test_pixel_i_of_n_lies_at_i_and_a_half_of_n_of_the_paths_length() -> None:
    placed = place_zone(DesiredZone(id="front", extent=EXTENT, spans=(L_SHAPE,)), channel_slices(BODY))
    # The path is 4 m long, so the centres are at 0.5, 1.5, 2.5 and 3.5 m; the corner is at 3 m.
    np.testing.assert_allclose(placed.s_m, [10.5, 11.5, 12.5, 13.5])
    np.testing.assert_allclose(placed.x_m, [1.5, 2.5, 3.5, 4.0])
    np.testing.assert_allclose(placed.y_m, [2.0, 2.0, 2.0, 1.5])
    assert placed.index.tolist() == [100, 101, 102, 103]
    assert placed.frame_index.tolist() == [34, 35, 36, 37]


def test_along_is_measured_from_the_zones_own_beginning() -> None:
    placed = place_zone(DesiredZone(id="front", extent=EXTENT, spans=(L_SHAPE,)), channel_slices(BODY))
    np.testing.assert_allclose(placed.along_m("x"), [0.5, 1.5, 2.5, 3.0])
    np.testing.assert_allclose(placed.along_m("y"), [2.0, 2.0, 2.0, 1.5])
    assert [placed.length_m(along) for along in ("s", "x", "y")] == [20.0, 4.0, 4.0]


def test_pixels_are_in_the_order_of_the_frame_whatever_the_order_of_spans() -> None:
    body = whole_body((5, 4, 3))
    zone = body.zones[0]
    turned = zone.model_copy(update={"spans": zone.spans[::-1]})
    placed = place_zone(turned, channel_slices(body))
    assert placed.frame_index.tolist() == list(range(12))
    assert placed.index.tolist() == list(range(12))


def test_a_path_without_length_puts_all_pixels_on_one_point() -> None:
    point = L_SHAPE.model_copy(update={"path": ((1.0, 2.0), (1.0, 2.0))})
    placed = place_zone(DesiredZone(id="front", extent=EXTENT, spans=(point,)), channel_slices(BODY))
    assert set(placed.x_m) == {1.0}
    assert set(placed.s_m) == {10.0}


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"channel": 3}, "there is no channel 3; wire the channel or drop the span"),
        ({"first": 7}, "pixels 7 to 10 reach past the run of 10 pixels; shorten the span"),
    ],
    ids=["no such channel", "past the run"],
)
def test_a_span_that_is_not_on_the_node_is_refused_with_field_and_remedy(
    change: dict[str, object], reason: str
) -> None:
    span = L_SHAPE.model_copy(update=change)
    with pytest.raises(PlacementError, match=reason) as caught:
        place_zone(DesiredZone(id="front", extent=EXTENT, spans=(span,)), channel_slices(BODY))
    assert caught.value.field == "zones.front.spans.0"
