"""Trims and white points of zones, and the master level, from the venue to the light of each pixel."""

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from hub.desired import compile_bodies
from hub.errors import InvalidError
from hub.scenes import VenueLights
from node_agent.render import linear_of_kelvin
from schemas import DesiredBody, Venue
from schemas.bounds import MAX_TRIMS_PER_RUN
from tests.hub.desired.venues import row_document, venue_from


def row(nodes: int = 2, pixels: int = 30, master_level: float = 1.0, **of_zones: dict[str, Any]) -> Venue:
    """Full budgets; `bay_0001={"trim": 0.5}` is for zone-bay-0001, `band` for the zone that joins all."""
    document = row_document(nodes, pixels) | {"master_level": master_level}
    for supply in document["supplies"]:
        supply["rated_a"] = 100.0
    for zone in document["zones"]:
        zone |= of_zones.get(zone["id"].removeprefix("zone-").replace("-", "_"), {})
    return venue_from(document)


def trims(venue: Venue) -> list[list[tuple[int, int, float, float, float]]]:
    """Of each channel of each node."""
    return [
        [(trim.first, trim.pixels, trim.red, trim.green, trim.blue) for trim in channel.trims]
        for body in compile_bodies(venue, None, 5.0).values()
        for channel in body.channels
    ]


def screen(venue: Venue) -> NDArray[np.float32]:
    """Linear light of the elevation in full white."""
    lights = VenueLights(venue, compile_bodies(venue, "full-white", 5.0))
    return lights.light(lights.limit(lights.linear("full-white", 0.0), 0.0).codes)


def test_venue_without_trims_carries_none() -> None:
    assert trims(row()) == [[], [], [], []]


def test_trim_of_a_zone_is_on_its_pixels_alone_whether_or_not_a_scene_uses_the_zone() -> None:
    assert trims(row(bay_0002={"trim": 0.5})) == [[], [], [(0, 30, 0.5, 0.5, 0.5)], [(0, 30, 0.5, 0.5, 0.5)]]


def test_gains_of_all_zones_that_hold_a_pixel_are_multiplied() -> None:
    found = trims(row(bay_0001={"trim": 0.5}, band={"trim": 0.4}))
    assert found[0] == [(0, 30, 0.2, 0.2, 0.2)]
    assert found[2] == [(0, 30, 0.4, 0.4, 0.4)]


def test_white_point_is_relative_so_that_nothing_gets_brighter() -> None:
    ((first, *_), *_) = trims(row(bay_0001={"white_point_k": 2_700.0, "trim": 0.5}))
    # A black body of 2700 K in linear sRGB over its largest: 1, .4154, .0991, computed independently.
    assert first[2:] == pytest.approx((0.5, 0.2077, 0.04955), abs=2e-4)


def test_equal_neighbours_are_one_stretch_and_gaps_are_left_out() -> None:
    document = row_document(1, 30)
    document["zones"] = [
        {
            "id": name,
            "trim": trim,
            "spans": [{"node": "bay-0001", "channel": 1, "first": first, "pixels": 5, "path": [[0, 0], [1, 0]]}],
        }
        for name, first, trim in (("a", 0, 0.5), ("b", 5, 0.5), ("c", 20, 0.25), ("d", 25, 1.0))
    ]
    document["scenes"], document["opening_scene"] = [], None
    assert trims(venue_from(document))[0] == [(0, 10, 0.5, 0.5, 0.5), (20, 5, 0.25, 0.25, 0.25)]


def test_run_with_more_stretches_than_a_document_holds_is_refused_with_the_remedy() -> None:
    pixels = 2 * (MAX_TRIMS_PER_RUN + 1)
    document = row_document(1, pixels)
    spans = [
        {"node": "bay-0001", "channel": 1, "first": first, "pixels": 1, "path": [[0, 0], [1, 0]]}
        for first in range(0, pixels, 2)
    ]
    document["zones"] = [{"id": "dotted", "trim": 0.5, "spans": spans}]
    document["scenes"], document["opening_scene"] = [], None
    with pytest.raises(InvalidError, match="257 stretches of different trim") as caught:
        compile_bodies(venue_from(document), None, 5.0)
    assert caught.value.mistakes[0].remedy == "trim larger zones, or split the run"


def test_bodies_with_trims_pass_the_contract_they_were_built_past() -> None:
    venue = row(band={"trim": 0.3, "white_point_k": 5_000.0}, master_level=0.7)
    for body in compile_bodies(venue, "dusk", 5.0).values():
        assert DesiredBody.model_validate_json(body.model_dump_json()) == body


def test_screens_show_trims_white_points_and_the_master_level() -> None:
    light = screen(row(bay_0001={"trim": 0.5, "white_point_k": 3_000.0}, master_level=0.8))
    warm = linear_of_kelvin(3_000.0) * np.float32(0.4)
    assert np.abs(light[:60] - warm).max() <= 0.5 / 255
    assert np.abs(light[60:] - np.float32(0.8)).max() <= 0.5 / 255


@pytest.mark.parametrize("kelvin", [None, 2_200.0, 3_000.0, 6_500.0])
def test_screens_show_a_white_emitter_in_its_own_colour(kelvin: float | None) -> None:
    document = row_document(1, 30)
    document["supplies"][0]["rated_a"] = 100.0
    for channel in document["nodes"][0]["channels"]:
        channel["run"] |= {
            "pixel_type": "rgbw-5v-nrz800",
            "white_emitter_k": kelvin,
            "white_balance": {"red": 1.0, "green": 0.8, "blue": 0.7, "white": 0.5},
        }
    colours = ("#ffffff", "#ff8020", "#2040ff", "#402010")
    document["scenes"] = [
        {"id": f"wash-{n}", "title": "W", "layers": [{"zone": "band", "pattern": {"pattern": "wash", "colour": one}}]}
        for n, one in enumerate(colours)
    ]
    document["opening_scene"] = None
    venue = venue_from(document)
    lights = VenueLights(venue, compile_bodies(venue, "wash-0", 5.0))
    for number in range(len(colours)):
        linear = lights.linear(f"wash-{number}", 0.0)
        shown = lights.light(lights.limit(linear, 0.0).codes)
        # Half a code of a colour at its lowest balance, and half a code of white at its own.
        assert np.abs(shown - linear).max() <= 0.5 / 255 / 0.7 + 0.5 / 255 / 0.5
