from typing import Any

import numpy as np
import pytest

from hub.desired import compile_bodies
from hub.errors import NotFoundError
from hub.scenes import VenueLights, preview_scene, sample_scene, sampling
from hub.scenes.period import LONGEST_WINDOW_S, Window, window_of
from schemas import Extent, Scene
from tests.hub.desired.venues import row_document, row_venue, venue_from


def _scene(*patterns: dict[str, Any]) -> Scene:
    layers = [{"zone": "band", "pattern": pattern} for pattern in patterns]
    document = row_document(nodes=1)
    document["scenes"] = [{"id": "one", "title": "One", "layers": layers}]
    return venue_from(document | {"opening_scene": None}).scenes[0]


CHASE = {"pattern": "chase", "colour": "#ffffff", "length_m": 0.2, "spacing_m": 3.0, "speed_m_per_s": -0.5}
WAVE = {"pattern": "wave", "crest": "#ffffff", "trough": "#000000", "wavelength_m": 5.0, "speed_m_per_s": 0.25}


TWINKLE = {"pattern": "twinkle", "colour": "#ffffff", "share": 0.5, "period_s": 3.0}


@pytest.mark.parametrize(
    ("patterns", "window"),
    [
        ([CHASE], Window(6.0, whole=True)),
        ([CHASE, WAVE], Window(60.0, whole=True)),
        ([CHASE | {"spacing_m": 0.7, "speed_m_per_s": 0.1}, WAVE], Window(140.0, whole=True)),
        ([{"pattern": "wash", "colour": "#ffffff"}, CHASE | {"speed_m_per_s": 0.0}], Window(0.0, whole=True)),
        ([CHASE | {"speed_m_per_s": 0.0001}], Window(LONGEST_WINDOW_S, whole=False)),
        ([TWINKLE], Window(48.0, whole=True)),
        ([TWINKLE, CHASE, WAVE], Window(240.0, whole=True)),
    ],
)
def test_window_is_the_whole_period_where_there_is_one_and_bounded(
    patterns: list[dict[str, Any]], window: Window
) -> None:
    band = Extent(length_m=10.0, pixels=100, x_min_m=0.0, x_max_m=10.0, y_min_m=0.0, y_max_m=0.0)
    assert window_of(_scene(*patterns), {"band": band}) == window


def test_scene_repeats_after_its_whole_period() -> None:
    venue_scene = _scene(CHASE, WAVE)
    document = row_document(nodes=1, pixels=40)
    document["scenes"] = [venue_scene.model_dump(mode="json")]
    venue = venue_from(document | {"opening_scene": None})
    lights = VenueLights(venue, compile_bodies(venue, None, 5.0))
    for at_s in (0.0, 7.7, 31.3):
        np.testing.assert_allclose(lights.linear("one", at_s), lights.linear("one", at_s + 60.0), atol=1e-5)


def test_peak_between_the_samples_is_found_by_looking_closer(monkeypatch: pytest.MonkeyPatch) -> None:
    # The whole front swells and fades in 10 s; ten instants are a second apart and the crest falls between two of them.
    monkeypatch.setattr(sampling, "MOST_SAMPLES", 10)
    monkeypatch.setattr(sampling, "FEWEST_SAMPLES", 10)
    document = row_document(nodes=1, pixels=75)
    swell = WAVE | {"wavelength_m": 1000.0, "speed_m_per_s": 100.0}
    document["scenes"] = [{"id": "swell", "title": "Swell", "layers": [{"zone": "band", "pattern": swell}]}]
    venue = venue_from(document | {"opening_scene": None})
    lights = VenueLights(venue, compile_bodies(venue, None, 5.0))
    evenly_a = max(float(lights.limit(lights.linear("swell", float(at_s)), 1e6).wanted_a[0]) for at_s in range(10))
    assert evenly_a < 8.85
    (peak,) = sample_scene(lights, "swell").supplies.values()
    assert peak.highest_a == pytest.approx(9.0, abs=0.01)


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
