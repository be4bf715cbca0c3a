"""What would change on a node, in words; nothing where nothing would."""

from typing import Any

import pytest

from hub.desired import Choices, Chosen, compile_documents
from hub.desired.difference import MAX_TOLD, BodyDifference, body_difference
from schemas import DesiredBody, TimedTake
from tests.hub.desired.venues import row_document, venue_from

NONE = BodyDifference((), (), (), ())


def body(document: dict[str, Any], *takes: tuple[int, str | None]) -> DesiredBody:
    timetable = tuple(TimedTake(at_ms=at_ms, scene=scene) for at_ms, scene in takes)
    choices = Choices(Chosen("dusk"), timetable=timetable)
    return compile_documents(venue_from(document), choices, 5.0)["bay-0001"].body


def test_the_same_body_differs_in_nothing() -> None:
    assert body_difference(body(row_document()), body(row_document()), 0) == NONE


def test_node_that_holds_nothing_is_new() -> None:
    found = body_difference(None, body(row_document()), 0)
    assert found.wiring == ("new to the rollouts: 2 channels, 60 pixels",)
    assert found.scenes == ("3 scenes",)  # with the work light


def changed(**run: Any) -> dict[str, Any]:  # noqa: ANN401 (any value of a run)
    document = row_document()
    document["nodes"][0]["channels"][0]["run"] |= run
    return document


@pytest.mark.parametrize(
    ("run", "line"),
    [
        ({"pixels_per_m": 31.0, "white_balance": {"blue": 0.8}}, "channel 1: white balance"),
        ({"positive_cut_before": [15]}, "channel 1: cuts in the positive rail"),
        (
            {"feeds": [{"supply": "psu-bay-0001", "wire_mm2": 1.5, "length_m": 1.0}]},
            "channel 1: feeds",
        ),
    ],
)
def test_wiring_is_told_by_channel(run: dict[str, Any], line: str) -> None:
    assert body_difference(body(row_document()), body(changed(**run)), 0).wiring == (line,)


def test_longer_run_another_pin_and_a_channel_more() -> None:
    document = row_document()
    channels = document["nodes"][0]["channels"]
    channels[0]["run"]["pixels"] = 40
    channels[0]["pin"] = "spidev9.0"
    before = row_document()
    del before["nodes"][0]["channels"][1]
    before["zones"][0]["spans"].pop()
    found = body_difference(body(before), body(document), 0).wiring
    assert found == (
        "channel 1: pixels 30 -> 40, pin spidev0.0 -> spidev9.0",
        "channel 2 is new: 30 pixels of rgb-5v-nrz800",
    )
    assert body_difference(body(document), body(before), 0).wiring[1] == "channel 2 is no longer used"


def test_budgets_scenes_and_levels() -> None:
    document = row_document()
    document["supplies"][0]["rated_a"] = 2.0
    document["scenes"][0]["layers"][0]["opacity"] = 0.5
    document["scenes"].append({"id": "late", "title": "Late", "layers": []})
    del document["scenes"][1]
    document["master_level"] = 0.5
    found = body_difference(body(row_document()), body(document), 0)
    assert found.wiring == ()
    assert found.budgets == ("supply psu-bay-0001: 3.2 A -> 1.6 A for all that hangs on it",)
    assert found.scenes[:2] == ("scene late is new", "scene full-white is gone")
    assert found.scenes[-1] == "master level 1 -> 0.5"


def test_more_than_a_screen_of_it_is_counted() -> None:
    document = row_document()
    document["scenes"] += [{"id": f"s{n}", "title": "S", "layers": []} for n in range(20)]
    told = body_difference(body(row_document()), body(document), 0).scenes
    assert (len(told), told[-1]) == (MAX_TOLD + 1, "and 12 more")


def test_timed_takes_count_as_far_as_both_reach_and_not_what_is_past() -> None:
    document = row_document()
    held = body(document, (1_000, "dusk"), (2_000, None), (3_000, "dusk"))
    refreshed = body(document, (2_000, None), (3_000, "dusk"), (4_000, None))
    assert body_difference(held, refreshed, 1_500) == NONE
    other = body(document, (2_000, None), (2_500, None), (4_000, "dusk"))
    assert body_difference(held, other, 1_500).timetable == ("timed takes: 2 differ",)
    assert body_difference(held, body(document), 1_500).timetable == ("timed takes: 2 -> 0",)
