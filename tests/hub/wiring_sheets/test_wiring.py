"""A node's wiring in names: feeds along the run, supplies by their place in the venue, what must be put right."""

from typing import Any

import pytest

from hub.errors import NotFoundError
from hub.wiring_sheets.wiring import ChannelWiring, NodeWiring, VenueWiring
from tests.hub.desired.venues import row_document, venue_from


def _wiring(feeds: list[dict[str, Any]], cuts: tuple[int, ...] = (), kind: str = "rgb-5v-nrz800") -> NodeWiring:
    document = row_document(nodes=2, pixels=100)
    run = document["nodes"][0]["channels"][0]["run"]
    run["feeds"] = [{"wire_awg": 18, "length_m": 2.0} | feed for feed in feeds]
    run["positive_cut_before"] = list(cuts)
    run["pixel_type"] = kind
    return VenueWiring(venue_from(document)).node("bay-0001")


def _first_channel(wiring: NodeWiring) -> ChannelWiring:
    return wiring.channels[0]


def test_feeds_are_named_in_their_order_along_the_run() -> None:
    feeds = [{"supply": "psu-bay-0002", "at_pixel": 99}, {"supply": "psu-bay-0001", "at_pixel": 0, "fuse_a": 5}]
    first, second = _first_channel(_wiring(feeds, cuts=(50,))).feeds
    assert (first.name, first.at_pixel, first.supply_name, first.fuse) == ("F1.1", 0, "S1", "fuse 5 A")
    assert (second.name, second.at_pixel, second.supply_name, second.fuse) == ("F1.2", 99, "S2", "fuse: not stated")
    assert first.wire == "AWG 18"


def test_worst_case_of_a_feed_is_that_of_its_own_pixels() -> None:
    # 60 mA a pixel at full white (common practice, no source): 30 pixels before the cut, 70 after it.
    feeds = [{"supply": "psu-bay-0001", "at_pixel": 0}, {"supply": "psu-bay-0002", "at_pixel": 99}]
    channel = _first_channel(_wiring(feeds, cuts=(30,)))
    assert [feed.worst_case_a for feed in channel.feeds] == pytest.approx([1.8, 4.2])


def test_each_part_of_a_cut_run_has_its_capacitor() -> None:
    feeds = [{"supply": "psu-bay-0001", "at_pixel": place} for place in (0, 40, 60, 99)]
    channel = _first_channel(_wiring(feeds, cuts=(50,)))
    assert [feed.enters_section for feed in channel.feeds] == [True, False, True, False]


def test_two_supplies_that_a_run_joins_are_told_and_a_cut_parts_them() -> None:
    feeds = [{"supply": "psu-bay-0001", "at_pixel": 0}, {"supply": "psu-bay-0002", "at_pixel": 99}]
    (warning,) = _wiring(feeds).warnings
    assert "S1 and S2 are joined" in warning
    assert "Cut the positive rail" in warning
    assert _wiring(feeds, cuts=(50,)).warnings == ()


def test_supply_of_several_nodes_names_the_others() -> None:
    document = row_document(nodes=3, pixels=10)
    for node in document["nodes"]:
        node["channels"][0]["run"]["feeds"][0]["supply"] = "psu-bay-0003"
    supplies = VenueWiring(venue_from(document)).node("bay-0002").supplies
    assert [(one.name, one.feeds, one.other_nodes) for one in supplies] == [
        ("S2", ("F2.1",), ()),
        ("S3", ("F1.1",), ("bay-0001", "bay-0003")),
    ]


@pytest.mark.parametrize(
    ("kind", "level_shifter", "capacitor_v"),
    [("rgb-5v-nrz800", "3.3 to 5 V", 10), ("rgb-12v-nrz800", "see data sheet", 25)],
)
def test_level_shifter_and_capacitor_follow_the_volts(kind: str, level_shifter: str, capacitor_v: float) -> None:
    channel = _first_channel(_wiring([{"supply": "psu-bay-0001", "at_pixel": 0}], kind=kind))
    assert (channel.level_shifter, channel.capacitor_v) == (level_shifter, capacitor_v)


def test_node_that_is_not_there_is_told() -> None:
    with pytest.raises(NotFoundError, match="no node 'attic'"):
        VenueWiring(venue_from(row_document())).node("attic")
