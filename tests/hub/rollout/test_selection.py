"""Nodes picked by name, zone and tag."""

import pytest

from hub.errors import InvalidError
from hub.rollout.plan import Selection
from hub.rollout.selection import select_nodes
from schemas import Venue
from tests.hub.desired.venues import row_document, venue_from


@pytest.fixture
def venue() -> Venue:
    document = row_document(nodes=8)
    for place, node in enumerate(document["nodes"]):
        node["tags"] = ["upstairs"] if place % 2 else ["street", "trial"] if place == 4 else []
    document["zones"].append({"id": "left", "of": ["zone-bay-0002", "zone-bay-0001"]})
    document["zones"].append({"id": "more", "of": ["left", "zone-bay-0003"]})
    return venue_from(document)


def places(venue: Venue, **names: tuple[str, ...]) -> list[int]:
    return [int(node[-1]) for node in select_nodes(venue, Selection(**names))]


def test_nothing_named_is_every_node(venue: Venue) -> None:
    assert places(venue) == [1, 2, 3, 4, 5, 6, 7, 8]


@pytest.mark.parametrize(
    ("names", "chosen"),
    [
        ({"nodes": ("bay-0007", "bay-0002", "bay-0007")}, [2, 7]),
        ({"zones": ("more",)}, [1, 2, 3]),
        ({"zones": ("band",)}, [1, 2, 3, 4, 5, 6, 7, 8]),
        ({"tags": ("upstairs",)}, [2, 4, 6, 8]),
        ({"tags": ("trial", "upstairs"), "nodes": ("bay-0001",), "zones": ("left",)}, [1, 2, 4, 5, 6, 8]),
    ],
)
def test_names_zones_and_tags_add_up_in_the_venues_order(
    venue: Venue, names: dict[str, tuple[str, ...]], chosen: list[int]
) -> None:
    assert places(venue, **names) == chosen


def test_every_name_that_the_venue_does_not_have_is_told_with_what_there_is(venue: Venue) -> None:
    with pytest.raises(InvalidError) as caught:
        places(venue, nodes=("bay-0001", "bay-009"), zones=("rear",), tags=("upstair",))
    told = [(mistake.field, mistake.remedy) for mistake in caught.value.mistakes]
    assert told[0] == ("body.select.nodes[1]", "did you mean 'bay-0008'?")
    assert told[1][0] == "body.select.zones[0]"
    assert told[1][1].startswith("it has band, left, more, ")
    assert told[1][1].endswith(" and 5 more")
    assert told[2] == ("body.select.tags[0]", "did you mean 'upstairs'?")


def test_venue_without_tags_says_so() -> None:
    with pytest.raises(InvalidError, match="does not have") as caught:
        select_nodes(venue_from(row_document()), Selection(tags=("upstairs",)))
    assert "no tags yet" in caught.value.mistakes[0].remedy
