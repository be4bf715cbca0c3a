"""What the audit says of runs and feeds: each case is a sound venue with one thing changed."""

from typing import Any

import pytest

from hub.audit import Standing, standing_of
from hub.audit.notes import wiring_of
from hub.audit.wiring_view import Note, Weight, Wiring
from hub.electrical.ampacity import ampacity_a
from hub.electrical.copper import loop_ohm
from hub.electrical.levels import Level
from hub.errors import NotFoundError
from tests.hub.desired.venues import row_document, venue_from

SOUND_FEED: dict[str, Any] = {"supply": "psu", "wire_mm2": 1.5, "length_m": 2.0, "fuse_a": 7.5}


def _standing(
    pixels: int = 50,
    *feeds: dict[str, Any],
    supplies: list[dict[str, Any]] | None = None,
    **run: Any,  # noqa: ANN401 (any field of a run)
) -> Standing:
    document = row_document(nodes=1, pixels=pixels)
    document["supplies"] = supplies or [{"id": "psu", "volts": 5.0, "rated_a": 20.0}]
    channels = document["nodes"][0]["channels"] = document["nodes"][0]["channels"][:1]
    channels[0]["run"] |= {"feeds": list(feeds) or [SOUND_FEED]} | run
    for zone in document["zones"][:-1]:
        zone["spans"] = [zone["spans"][0] | {"pixels": 1}]
    return standing_of(venue_from(document))


def _only_note(standing: Standing) -> Note:
    (note,) = standing.notes
    return note


def test_sound_run_has_no_note() -> None:
    standing = _standing()
    assert standing.notes == []
    assert wiring_of(standing.notes) is Wiring.SOUND


def test_volts_of_a_run_follow_the_ladder_by_hand() -> None:
    standing = _standing(2, SOUND_FEED, loop_ohm_per_m=6.0, pixels_per_m=60)
    (run,) = standing.runs
    wire_ohm = loop_ohm(standing.venue.nodes[0].channels[0].run.feeds[0])
    volts = standing.volts(run.node, 1, Level.WORST_CASE).volts
    # Two pixels of 60 mA: both through the feed, one through a step of 6 / 60 ohms.
    assert volts == pytest.approx([5 - 0.120 * wire_ohm, 5 - 0.120 * wire_ohm - 0.060 * 0.1], abs=1e-4)
    assert standing.volts(run.node, 1, Level.WORST_CASE).step_a == pytest.approx([0.060])


def test_feed_carries_its_pixels_and_loses_volts_and_heat_in_its_wire() -> None:
    (feed,) = _standing(50).runs[0].feeds
    assert [feed.typical_a, feed.worst_case_a] == pytest.approx([1.0, 3.0])
    assert feed.drop_v == pytest.approx(feed.under_budget_a * feed.loop_ohm, abs=1e-4)
    assert feed.heat_w == pytest.approx(feed.under_budget_a**2 * feed.loop_ohm, abs=1e-4)
    assert feed.ampacity_a == pytest.approx(ampacity_a(1.5))


def test_under_budget_a_run_draws_the_budget_where_full_white_would_exceed_it() -> None:
    standing = _standing(150, supplies=[{"id": "psu", "volts": 5.0, "rated_a": 4.0}])
    assert standing.runs[0].feeds[0].under_budget_a == pytest.approx(3.2)
    assert standing.runs[0].feeds[0].worst_case_a == pytest.approx(9.0)


def test_copper_that_is_not_stated_is_assumed_and_said_so() -> None:
    assert _standing().runs[0].loop_ohm_assumed
    assert _standing().runs[0].loop_ohm_per_m == 0.10
    assert not _standing(loop_ohm_per_m=0.2).runs[0].loop_ohm_assumed


def test_feed_without_a_fuse_wants_one_between_load_and_wire() -> None:
    note = _only_note(_standing(50, SOUND_FEED | {"fuse_a": None}))
    assert (note.weight, note.at_pixel, note.supplies) == (Weight.ATTENTION, 0, ["psu"])
    assert "no fuse is stated" in note.text
    assert "fit 4, 5, 7.5, 10 A" in note.remedy


def test_fuse_larger_than_its_wire_is_a_fault() -> None:
    note = _only_note(_standing(50, SOUND_FEED | {"fuse_a": 20.0}))
    assert note.weight is Weight.FAULT
    assert "does not protect its wire" in note.text


def test_fuse_smaller_than_its_load_is_told() -> None:
    note = _only_note(_standing(50, SOUND_FEED | {"fuse_a": 3.0}))
    assert note.weight is Weight.ATTENTION
    assert "may blow" in note.text


def test_wire_thinner_than_its_load_is_a_fault_and_names_one_that_bears_it() -> None:
    standing = _standing(100, SOUND_FEED | {"wire_mm2": 0.5, "length_m": 0.1, "fuse_a": 3.0}, loop_ohm_per_m=0.01)
    fault = standing.notes[0]
    assert (fault.weight, "bears 3.0 A" in fault.text) == (Weight.FAULT, True)
    assert fault.remedy == "use 0.75 mm² or more, or more feeds"
    assert wiring_of(standing.notes) is Wiring.FAULT


def test_pixels_below_their_lowest_working_volts_are_told_with_the_place() -> None:
    note = _only_note(_standing(100, SOUND_FEED | {"fuse_a": 10.0}, pixels_per_m=10, loop_ohm_per_m=0.1))
    assert (note.weight, note.at_pixel) == (Weight.ATTENTION, 99)
    assert "as bright as the budget lets it" in note.text


def test_pixels_too_low_at_typical_draw_are_a_fault() -> None:
    notes = _standing(100, SOUND_FEED | {"fuse_a": 10.0}, pixels_per_m=10, loop_ohm_per_m=0.4).notes
    assert "at its typical draw already" in notes[0].text
    assert notes[0].weight is Weight.FAULT


def test_volts_below_zero_are_not_told_as_if_they_were_real() -> None:
    notes = _standing(100, SOUND_FEED | {"fuse_a": 10.0}, pixels_per_m=1, loop_ohm_per_m=0.4).notes
    assert "its copper and wires leave no volts at pixel 99" in notes[0].text


TWO = [{"id": "left", "volts": 5.0, "rated_a": 20.0}, {"id": "right", "volts": 5.0, "rated_a": 20.0}]
LEFT, RIGHT = SOUND_FEED | {"supply": "left"}, SOUND_FEED | {"supply": "right", "at_pixel": 49}


def test_two_supplies_on_a_whole_positive_rail_are_a_fault_of_both_until_it_is_cut() -> None:
    note = _only_note(_standing(50, LEFT, RIGHT, supplies=TWO))
    assert (note.weight, note.supplies) == (Weight.FAULT, ["left", "right"])
    assert "joined by its positive rail" in note.text
    assert "positive_cut_before" in note.remedy
    assert _standing(50, LEFT, RIGHT, supplies=TWO, positive_cut_before=[25]).notes == []


def test_cut_rail_carries_no_current_and_parts_the_load() -> None:
    standing = _standing(50, LEFT, RIGHT, supplies=TWO, positive_cut_before=[20])
    run = standing.volts(standing.runs[0].node, 1, Level.WORST_CASE)
    assert run.step_a[19] == 0
    left, right = standing.runs[0].feeds
    assert [left.worst_case_a, right.worst_case_a] == pytest.approx([20 * 0.060, 30 * 0.060])


def test_run_that_is_not_there_is_not_found() -> None:
    with pytest.raises(NotFoundError):
        _standing().volts("nobody", 1, Level.TYPICAL)
