from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from hub.desired import compile_bodies
from hub.desired.budgets import pixels_by_supply, share_budgets
from schemas import PIXEL_CATALOGUE, Venue
from tests.hub.desired.venues import row_document, row_venue, venue_from


def _on_one_supply(rated_a: float, derating: float, pixels: list[int]) -> Venue:
    document = row_document(nodes=len(pixels))
    document["supplies"] = [{"id": "psu", "volts": 5.0, "rated_a": rated_a, "derating": derating}]
    for node, count in zip(document["nodes"], pixels, strict=True):
        node["channels"] = node["channels"][:1]
        node["channels"][0]["run"] |= {
            "pixels": count,
            "feeds": [{"supply": "psu", "wire_mm2": 0.75, "length_m": 1.0}],
        }
    for zone in document["zones"][:-1]:
        zone["spans"] = [zone["spans"][0] | {"pixels": 1}]
    return venue_from(document)


def test_a_supply_of_one_node_gives_it_the_whole_budget_to_the_milliamp() -> None:
    (budget,) = compile_bodies(row_venue(1), None, 5.0)["bay-0001"].budgets
    assert budget.budget_a == 3.2


def test_bodies_carry_the_whole_budget_which_no_grant_may_exceed() -> None:
    bodies = compile_bodies(_on_one_supply(10.0, 0.8, [100, 300]), None, 5.0)
    assert [body.budgets[0].budget_a for body in bodies.values()] == [8.0, 8.0]


def test_shares_follow_the_worst_case_of_each_nodes_pixels() -> None:
    shares = share_budgets(_on_one_supply(10.0, 0.8, [100, 300]), PIXEL_CATALOGUE)
    assert [budgets[0].budget_a for budgets in shares.values()] == [2.0, 6.0]


@given(
    rated_a=st.integers(1, 50_000).map(lambda hundredths: hundredths / 100),
    derating=st.integers(1, 100).map(lambda hundredths: hundredths / 100),
    pixels=st.lists(st.integers(1, 4096), min_size=1, max_size=8),
)
def test_shares_never_add_up_to_more_than_the_supply_has(rated_a: float, derating: float, pixels: list[int]) -> None:
    venue = _on_one_supply(rated_a, derating, pixels)
    shares = [Decimal(str(b.budget_a)) for budgets in share_budgets(venue, PIXEL_CATALOGUE).values() for b in budgets]
    budget = Decimal(str(rated_a)) * Decimal(str(derating))
    assert budget - Decimal("0.001") * len(pixels) < sum(shares) <= budget


def test_pixels_count_to_their_nearest_feed_and_to_the_first_of_two_equally_near() -> None:
    document = row_document(nodes=1, pixels=101)
    document["supplies"] = [{"id": supply, "volts": 5.0, "rated_a": 4.0} for supply in ("left", "right")]
    for channel in document["nodes"][0]["channels"]:
        channel["run"]["feeds"] = [
            {"supply": "left", "at_pixel": 0, "wire_mm2": 0.75, "length_m": 1.0},
            {"supply": "right", "at_pixel": 100, "wire_mm2": 0.75, "length_m": 1.0},
        ]
    channel = venue_from(document).nodes[0].channels[0]
    assert pixels_by_supply(channel) == {"left": 51, "right": 50}
