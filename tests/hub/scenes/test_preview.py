from typing import Any

import pytest

from hub.errors import NotFoundError
from hub.scenes import preview_scene
from hub.scenes.sampling import LONGEST_WINDOW_S, window_of
from schemas import Scene
from tests.hub.desired.venues import row_document, row_venue, venue_from


def _scene(*patterns: dict[str, Any]) -> Scene:
    layers = [{"zone": "band", "pattern": pattern} for pattern in patterns]
    document = row_document(nodes=1)
    document["scenes"] = [{"id": "one", "title": "One", "layers": layers}]
    return venue_from(document | {"opening_scene": None}).scenes[0]


CHASE = {"pattern": "chase", "colour": "#ffffff", "length_m": 0.2, "spacing_m": 3.0, "speed_m_per_s": -0.5}
WAVE = {"pattern": "wave", "crest": "#ffffff", "trough": "#000000", "wavelength_m": 5.0, "speed_m_per_s": 0.25}


def test_window_is_twice_the_longest_period() -> None:
    assert window_of(_scene(CHASE)) == 12.0
    assert window_of(_scene(CHASE, WAVE)) == 40.0


def test_still_scene_needs_one_instant() -> None:
    assert window_of(_scene({"pattern": "wash", "colour": "#ffffff"}, CHASE | {"speed_m_per_s": 0.0})) == 0.0


def test_window_of_a_crawling_pattern_is_bounded() -> None:
    assert window_of(_scene(CHASE | {"speed_m_per_s": 0.0001})) == LONGEST_WINDOW_S


def test_full_white_on_a_small_supply_asks_for_nine_amps_and_gets_the_budget() -> None:
    preview = preview_scene(row_venue(nodes=1, pixels=75), "full-white")
    (supply,) = preview.supplies
    assert (supply.highest_a, supply.budget_a) == (9.0, 3.2)
    assert 3.1 < supply.limited_a <= 3.2
    assert 0.3 < supply.limiter_scale < 0.4


def test_peak_of_a_moving_scene_is_its_highest_instant() -> None:
    # One wavelength much longer than the front: the whole front swings between dark and full white.
    document = row_document(nodes=1, pixels=75)
    layer = {"zone": "band", "pattern": WAVE | {"wavelength_m": 1000.0, "speed_m_per_s": 100.0}}
    document["scenes"] = [{"id": "swell", "title": "Swell", "layers": [layer]}]
    preview = preview_scene(venue_from(document | {"opening_scene": None}), "swell")
    assert preview.samples > 100
    assert preview.supplies[0].highest_a == pytest.approx(9.0, abs=0.05)


def test_rows_show_the_zone_in_its_own_order_at_each_instant_asked_for() -> None:
    document = row_document(nodes=1, pixels=10)
    document["zones"][0]["spans"].reverse()
    spot = {"pattern": "spot", "colour": "#ff0000", "spans": [{"first": 0, "pixels": 2}]}
    document["scenes"] = [{"id": "spot", "title": "Spot", "layers": [{"zone": "zone-bay-0001", "pattern": spot}]}]
    preview = preview_scene(venue_from(document | {"opening_scene": None}), "spot", [0.0, 5.0])
    (zone,) = preview.zones
    assert preview.instants_s == [0.0, 5.0]
    assert len(zone.rows) == 2
    assert zone.rows[0] == ["#ff0000"] * 2 + ["#000000"] * 18


def test_long_zone_is_told_in_few_cells() -> None:
    preview = preview_scene(row_venue(nodes=1, pixels=1000), "full-white")
    assert len(preview.zones[0].rows[0]) == 64


def test_unknown_scene_is_not_found() -> None:
    with pytest.raises(NotFoundError):
        preview_scene(row_venue(), "noon")
