"""Scenes of a venue, rendered and limited by the boards' own code, held against the thresholds."""

import json
from typing import Any

import pytest

from hub.errors import InvalidError
from hub.scenes.flash import FlashReport, FlashVerdict, check_flashes
from hub.scenes.flash.slowing import slowed
from schemas import Scene, Venue
from tests.hub.desired.venues import row_document, venue_from

SPLIT = 50.0
"""Half of a chase that is a hundred times as long as the front: what it passes goes on and off all at once."""


@pytest.fixture(scope="module")
def venue() -> Venue:
    return venue_from(row_document(nodes=2))


def _scene(*layers: dict[str, Any]) -> Scene:
    document = {"id": "made", "title": "Made", "layers": [{"zone": "band", **layer} for layer in layers]}
    return Scene.model_validate_json(json.dumps(document))


def _strobe(rate_hz: float, colour: str = "#ffffff") -> Scene:
    chase = {
        "pattern": "chase",
        "colour": colour,
        "length_m": SPLIT,
        "spacing_m": 2 * SPLIT,
        "speed_m_per_s": 2 * SPLIT,
    }
    return _scene({"time_scale": rate_hz, "pattern": chase})


def _kinds(report: FlashReport, verdict: FlashVerdict) -> set[tuple[str, str]]:
    return {(one.kind, one.standard) for one in report.findings if one.verdict is verdict}


GENERAL = {("general", "WCAG 2.2 SC 2.3.1"), ("general", "ITU-R BT.1702")}
RED = {("red", "WCAG 2.2 SC 2.3.1")}


@pytest.mark.parametrize(("colour", "kinds"), [("#ffffff", GENERAL), ("#ff0000", GENERAL | RED), ("#400000", RED)])
@pytest.mark.parametrize(
    ("rate_hz", "verdict"),
    [
        (2.9, FlashVerdict.PASSES),
        (3.0, FlashVerdict.AT_THE_LIMIT),
        (3.1, FlashVerdict.FAILS),
        (30.0, FlashVerdict.FAILS),
    ],
)
def test_strobe_of_the_whole_front(
    venue: Venue, colour: str, kinds: set[tuple[str, str]], rate_hz: float, verdict: FlashVerdict
) -> None:
    scene = _strobe(rate_hz, colour)
    report = check_flashes(venue, scene)
    assert report.verdict is verdict
    assert report.summary.startswith(verdict.value)
    assert (report.caution is not None) is (verdict is FlashVerdict.FAILS)
    if verdict is not FlashVerdict.PASSES:
        assert _kinds(report, verdict) == kinds
        worst = report.findings[-1 if kinds == RED else 0]
        assert (worst.flashes_a_second or 0) >= min(round(rate_hz + 0.5), 4) - (verdict is FlashVerdict.AT_THE_LIMIT)
        assert worst.zones == ["zone-bay-0001", "zone-bay-0002"] or len(worst.zones) == 1
    assert report.slow_down is not None
    if verdict is FlashVerdict.FAILS:
        assert report.slow_down == pytest.approx(3.0 / rate_hz, rel=0.02)
        assert check_flashes(venue, slowed(scene, report.slow_down)).verdict is not FlashVerdict.FAILS
    else:
        assert report.slow_down == 1.0


def test_scene_that_stands_still_is_not_watched(venue: Venue) -> None:
    report = check_flashes(venue, _scene({"pattern": {"pattern": "wash", "colour": "#ffffff"}}))
    assert (report.verdict, report.window_s, report.whole, report.instants) == (FlashVerdict.PASSES, 0.0, True, 1)


def test_distance_decides(venue: Venue) -> None:
    """A band of 0.5 m × 4 m: in front of it too much of a field flashes, from across the street too little does."""
    strobe = _strobe(5.0)
    assert check_flashes(venue, strobe, distance_m=3.0).verdict is FlashVerdict.FAILS
    far = check_flashes(venue, strobe, distance_m=40.0)
    assert far.verdict is FlashVerdict.PASSES
    assert far.distance_m == 40.0


def test_limiter_takes_part() -> None:
    """Flashes up to full white fail; under a budget that lets less than a tenth of it through, none are left."""
    scene = _scene(
        {"pattern": {"pattern": "wash", "colour": {"linear": [0.1, 0.1, 0.1]}}},
        {"time_scale": 5.0, "pattern": _strobe(1.0).layers[0].model_dump(mode="json")["pattern"]},
    )
    document = row_document(nodes=2, pixels=60)
    assert check_flashes(venue_from(document), scene).verdict is FlashVerdict.FAILS
    for supply in document["supplies"]:
        supply["rated_a"] = 0.7
    assert check_flashes(venue_from(document), scene).verdict is FlashVerdict.PASSES


def test_whole_period_is_watched_and_a_burst_at_its_end_is_found(venue: Venue) -> None:
    """A stretch with four teeth passes once in twenty seconds, at its end."""
    teeth = [
        {"pattern": {"pattern": "pulse", "high": "#ffffff", "rise_s": 0, "hold_s": 0.1, "fall_s": 0, "rest_s": 19.9},
         "blend": "add", "phase_s": round(1.0 + 0.2 * number, 3)}
        for number in range(4)
    ]  # fmt: skip
    report = check_flashes(venue, _scene(*teeth))
    assert (report.window_s, report.whole) == (20.0, True)
    assert report.verdict is FlashVerdict.FAILS
    assert report.findings[0].from_s == pytest.approx(18.45, abs=0.07)
    assert check_flashes(venue, _scene(*teeth[:3])).verdict is not FlashVerdict.FAILS


def test_mistake_of_a_draft_is_told_with_its_field(venue: Venue) -> None:
    scene = _scene({"pattern": {"pattern": "wash", "colour": "#ffffff"}})
    elsewhere = scene.model_copy(update={"layers": (scene.layers[0].model_copy(update={"zone": "nowhere"}),)})
    with pytest.raises(InvalidError) as refused:
        check_flashes(venue, elsewhere)
    assert refused.value.mistakes[0].field == "body.layers[0].zone"
