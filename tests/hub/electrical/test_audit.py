from pathlib import Path

import pytest

from hub.desired import compile_bodies
from hub.electrical import Audit, Draw, Verdict, audit_of, verdict_of
from hub.electrical.figures import draw_by_node_and_supply
from hub.scenes import VenueLights, sample_scene
from hub.venue_file import read_venue_file
from node_agent.power import PowerModel
from schemas import Supply, Venue
from tests.hub.desired.venues import row_document, row_venue, venue_from

DEMO = Path(__file__).parents[3] / "deploy" / "demo"
SUPPLY = Supply(id="psu", volts=5.0, rated_a=4.0)


def _audit(venue: Venue, scene: str | None = None, **told: dict[str, float]) -> Audit:
    lights = VenueLights(venue, compile_bodies(venue, scene, 5.0))
    peaks = None if scene is None else sample_scene(lights, scene)
    return audit_of(lights, scene, peaks, told.get("highest", {}), told.get("now", {}))


def test_150_pixels_on_5_v_4_a_are_safe_only_under_the_budget() -> None:
    # Common practice, no source: 60 mA a pixel at full white, 20 mA typical; 150 pixels on a 5 V 4 A supply.
    audit = _audit(read_venue_file(DEMO / "4-own-supply.yaml"), "full-white")
    (supply,) = audit.supplies
    assert (supply.pixels, supply.rated_a, supply.budget_a) == (150, 4.0, 3.2)
    assert (supply.worst_case_a, supply.typical_a, supply.scene_peak_a) == (9.0, 3.0, 9.0)
    assert supply.verdict is Verdict.ONLY_UNDER_BUDGET
    assert supply.reason == (
        "worst case 9.0 A exceeds the supply's 4.0 A; typical 3.0 A is within the budget of 3.2 A: "
        "safe only under the enforced budget"
    )


@pytest.mark.parametrize(
    ("draw", "verdict", "word"),
    [
        (Draw(0, 0.0, 0.0, 0.0), Verdict.WITHIN, "no pixel"),
        (Draw(10, 3.2, 1.0, 0.1), Verdict.WITHIN, "within the budget"),
        (Draw(10, 3.3, 1.0, 0.1), Verdict.ONLY_UNDER_BUDGET, "exceeds the budget of 3.2 A"),
        (Draw(10, 4.1, 3.2, 0.1), Verdict.ONLY_UNDER_BUDGET, "exceeds the supply's 4.0 A"),
        (Draw(10, 9.0, 3.3, 0.1), Verdict.OVERLOADED, "dim ordinary scenes"),
        (Draw(10, 90.0, 30.0, 3.3), Verdict.OVERLOADED, "no limiter can help"),
    ],
)
def test_verdict(draw: Draw, verdict: Verdict, word: str) -> None:
    found, reason = verdict_of(SUPPLY, draw)
    assert found is verdict
    assert word in reason


def test_figures_are_the_ones_that_boards_estimate() -> None:
    venue = read_venue_file(DEMO / "arcade.yaml")
    bodies = compile_bodies(venue, None, 5.0)
    draws = draw_by_node_and_supply(VenueLights(venue, bodies).joined)
    for node, body in bodies.items():
        power = PowerModel(body)
        for supply, worst, typical in zip(power.supplies, power.worst_case_a(), power.typical_a(), strict=True):
            assert draws[node, supply].worst_case_a == pytest.approx(worst)
            assert draws[node, supply].typical_a == pytest.approx(typical)


def test_shares_of_the_budget_cover_every_supply_that_a_board_counts_on() -> None:
    for body in compile_bodies(read_venue_file(DEMO / "arcade.yaml"), None, 5.0).values():
        assert {budget.supply for budget in body.budgets} == set(PowerModel(body).supplies)


def test_supply_of_several_nodes_is_one_line_with_their_sum() -> None:
    document = row_document(nodes=2, pixels=10)
    document["supplies"] = [{"id": "psu", "volts": 5.0, "rated_a": 4.0}]
    for node in document["nodes"]:
        for channel in node["channels"]:
            channel["run"]["feeds"][0]["supply"] = "psu"
    audit = _audit(venue_from(document), "full-white")
    (supply,) = audit.supplies
    assert (supply.pixels, supply.worst_case_a, supply.scene_peak_a) == (40, 2.4, 2.4)
    assert supply.nodes == ["bay-0001", "bay-0002"]


def test_what_telemetry_told_stands_beside_and_is_unknown_until_then() -> None:
    venue = row_venue(nodes=2)
    first, second = _audit(venue, highest={"psu-bay-0001": 1.5}, now={"psu-bay-0001": 0.5}).supplies
    assert (first.telemetry_highest_a, first.telemetry_now_a) == (1.5, 0.5)
    assert (second.telemetry_highest_a, second.telemetry_now_a, second.scene_peak_a) == (None, None, None)


def test_totals_of_nodes_and_venue_are_the_sums_of_supplies() -> None:
    audit = _audit(read_venue_file(DEMO / "arcade.yaml"), "evening")
    assert (audit.venue.supplies, audit.venue.nodes, audit.venue.pixels) == (19, 18, 3212)
    assert sum(node.pixels for node in audit.nodes) == audit.venue.pixels
    assert sum(node.worst_case_w for node in audit.nodes) == pytest.approx(audit.venue.worst_case_w, abs=0.5)
    assert sum(supply.volts * supply.worst_case_a for supply in audit.supplies) == pytest.approx(
        audit.venue.worst_case_w, abs=0.1
    )
    assert audit.venue.within + audit.venue.only_under_budget + audit.venue.overloaded == 19


def test_scene_peak_lies_between_dark_and_worst_case() -> None:
    for supply in _audit(read_venue_file(DEMO / "arcade.yaml"), "evening").supplies:
        assert supply.scene_peak_a is not None
        assert 0 < supply.scene_peak_a <= supply.worst_case_a


def test_cautions_leave_mains_to_a_licensed_electrician_and_mark_common_practice() -> None:
    cautions = " ".join(_audit(row_venue(1)).cautions)
    assert "licensed electrician" in cautions
    assert "local code" in cautions
    assert "common practice" in cautions
    assert "fuse" in cautions
