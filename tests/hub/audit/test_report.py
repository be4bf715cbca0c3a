from pathlib import Path

import pytest

from hub.audit import Audit, Draw, Told, Verdict, audit_of, standing_of, verdict_of
from hub.desired import compile_bodies
from hub.load import SupplyLoad
from hub.scenes import sample_scene
from hub.venue_file import read_venue_file
from node_agent.power import PowerModel
from schemas import Supply, Venue
from tests.hub.desired.venues import row_document, row_venue, venue_from

DEMO = Path(__file__).parents[3] / "deploy" / "demo"
SUPPLY = Supply(id="psu", volts=5.0, rated_a=4.0)


def _audit(venue: Venue, scene: str | None = None, told: Told | None = None) -> Audit:
    standing = standing_of(venue)
    peaks = None if scene is None else sample_scene(standing.lights(), scene)
    return audit_of(standing, scene, peaks, told or Told({}, {}))


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
    draws = standing_of(venue).draws
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
    told = Told({"psu-bay-0001": SupplyLoad(1.5, 1.2, 3.0)}, {"psu-bay-0001": 0.5})
    first, second = _audit(venue, told=told).supplies
    assert (first.telemetry_highest_a, first.telemetry_percentile_95_a, first.telemetry_now_a) == (1.5, 1.2, 0.5)
    assert (first.telemetry_hours, second.telemetry_hours) == (3.0, None)
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


def test_built_in_work_light_has_peaks_too() -> None:
    (supply,) = _audit(read_venue_file(DEMO / "4-own-supply.yaml"), "work-light").supplies
    # Half of white at 4,000 K, whose green and blue are 0.65 and 0.38 of its red: a third of 9 A and some more idle.
    assert supply.scene_peak_a is not None
    assert 2.0 < supply.scene_peak_a < 4.5


def test_nodes_that_show_another_scene_are_told() -> None:
    standing = standing_of(row_venue(2))
    told = Told({}, {})
    assert "2 nodes show another scene" in audit_of(standing, None, None, told, others=2).assumptions[0]
    assert not any("another scene" in one for one in audit_of(standing, None, None, told).assumptions)


def test_cautions_leave_mains_to_a_licensed_electrician_and_assumptions_mark_common_practice() -> None:
    audit = _audit(row_venue(1))
    cautions = " ".join(audit.cautions)
    for words in ("licensed electrician", "local code", "fuse", "polarity", "Power off", "height"):
        assert words in cautions
    assert "common practice" in " ".join(audit.assumptions)


def test_headroom_is_told_in_amps_and_in_whole_pixels() -> None:
    (supply,) = _audit(read_venue_file(DEMO / "4-own-supply.yaml")).supplies
    assert (supply.headroom_worst_case.amps, supply.headroom_worst_case.pixels) == (-5.8, -97)
    assert (supply.headroom_typical.amps, supply.headroom_typical.pixels) == (0.2, 3)


def test_shares_of_a_supply_are_named_with_their_nodes() -> None:
    audit = _audit(read_venue_file(DEMO / "arcade.yaml"))
    (gable,) = [supply for supply in audit.supplies if supply.supply == "gable-5v"]
    assert (gable.sharing, [share.node for share in gable.shares]) == ("by-need", gable.nodes)
    assert gable.budget_a - 0.002 <= sum(share.fixed_a for share in gable.shares) <= gable.budget_a
