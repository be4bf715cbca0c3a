"""What a venue shows: timed takes, nodes apart, batches and refreshed timetables, each as the boards show it."""

import numpy as np
import pytest
from numpy.typing import NDArray

from hub.rollout.kept_choices import KeptChoices, KeptChosen
from hub.scenes.venue_look import VenueLook
from schemas import TimedTake, Venue
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.scenes.shown import Shown, in_force

DARK, GREY = 0, 50  # #303030 as sRGB


def greys(nodes: int = 2, pixels: int = 30) -> Venue:
    """Scenes of one grey each over all nodes."""
    document = row_document(nodes=nodes, pixels=pixels)
    document["scenes"] = [
        {
            "id": f"grey-{level}",
            "title": "Grey",
            "layers": [{"zone": "band", "pattern": {"pattern": "wash", "colour": f"#{level * 3}"}}],
        }
        for level in ("00", "30")
    ]
    return venue_from(document | {"opening_scene": None})


VENUE = greys()
FIRST, SECOND = (node.id for node in VENUE.nodes)


def chosen(scene: str | None, since_s: float = 100.0) -> KeptChosen:
    return KeptChosen(scene=scene, since_ms=round(since_s * 1_000))


def timed(at_s: float, scene: str | None, fade_s: float = 0.0) -> TimedTake:
    return TimedTake(at_ms=round(at_s * 1_000), scene=scene, fade_ms=round(fade_s * 1_000))


def seen(look: VenueLook, show_s: float) -> list[int]:
    """The brightest value of each node, in the venue's order."""
    shown = look.frame(show_s, 1.0)
    assert shown is not None
    rgb: NDArray[np.uint8] = np.frombuffer(shown[1], np.uint8).reshape(2, -1)
    return [int(one.max()) for one in rgb]


def looking(shown: Shown) -> VenueLook:
    return VenueLook("arcade", shown)


def test_timed_takes_change_what_shows_with_no_new_revision() -> None:
    shown = Shown(VENUE)
    timetable = (timed(90.0, "grey-30"), timed(200.0, "grey-30", fade_s=2.0), timed(300.0, None))
    kept = KeptChoices(common=chosen("grey-00"), timetable=timetable)
    shown.now = in_force(VENUE, None, kept=kept)
    look = looking(shown)
    assert seen(look, 199.9) == [DARK, DARK]
    # Half of #303030 is code 4 of 255 linear, 34 as sRGB.
    assert seen(look, 201.0) == [34, 34]
    assert seen(look, 202.0) == [GREY, GREY]
    assert seen(look, 299.9) == [GREY, GREY]
    assert seen(look, 300.0) == [DARK, DARK]


def test_whoever_comes_during_the_fade_of_a_timed_take_sees_what_the_others_see() -> None:
    shown = Shown(VENUE)
    kept = KeptChoices(common=chosen("grey-30"), timetable=(timed(200.0, None, fade_s=4.0),))
    shown.now = in_force(VENUE, None, kept=kept)
    early = looking(shown)
    seen(early, 150.0)
    assert seen(early, 202.0) == seen(looking(shown), 202.0) == [34, 34]


def test_nodes_apart_show_their_own_scene_until_a_timed_take_brings_all_together() -> None:
    shown = Shown(VENUE)
    kept = KeptChoices(
        common=chosen("grey-30"), apart={SECOND: chosen("grey-00", 120.0)}, timetable=(timed(200.0, "grey-30"),)
    )
    shown.now = in_force(VENUE, None, kept=kept)
    look = looking(shown)
    assert seen(look, 150.0) == [GREY, DARK]
    assert seen(look, 200.0) == [GREY, GREY]


def test_refreshed_timetable_lets_a_fade_go_on() -> None:
    shown = Shown(VENUE)
    timetable = (timed(200.0, "grey-30", fade_s=4.0),)
    kept = KeptChoices(common=chosen("grey-00"), timetable=timetable)
    shown.now = in_force(VENUE, None, kept=kept)
    look = looking(shown)
    assert seen(look, 199.0) == [DARK, DARK]
    assert seen(look, 200.0) == [DARK, DARK]
    other = VENUE.model_copy(update={"time_zone": "Europe/Vienna", "title": "Another"})
    shown.before = shown.now
    later = kept.model_copy(update={"timetable": (*timetable, timed(400.0, None))})
    shown.now = in_force(other, None, revision=2, at_s=201.0, kept=later)
    assert seen(look, 202.0) == [34, 34]
    assert seen(look, 204.0) == [GREY, GREY]
    assert look.frame(204.0, 1.0) == (2, look.frame(204.0, 1.0)[1])  # type: ignore[index]


def test_batch_that_was_taken_shows_the_revision_that_it_is_ahead_on() -> None:
    shown = Shown(VENUE)
    shown.now = in_force(VENUE, "grey-00")
    look = looking(shown)
    assert seen(look, 150.0) == [DARK, DARK]
    shown.batch = {SECOND: in_force(VENUE, "grey-30", revision=2, at_s=200.0, fade_s=2.0)}
    assert seen(look, 199.0) == [DARK, DARK]
    assert seen(look, 201.0) == [DARK, 34]
    assert seen(looking(shown), 201.0) == [DARK, 34]
    shown.before, shown.batch = shown.now, {}
    shown.now = in_force(VENUE, "grey-30", revision=2, at_s=300.0)
    assert seen(look, 299.0) == [DARK, GREY]
    assert seen(look, 300.0) == [GREY, GREY]


@pytest.mark.parametrize("pixels", [20, 40])
def test_batch_that_is_wired_otherwise_is_drawn_on_the_elevation_in_force(pixels: int) -> None:
    shown = Shown(VENUE)
    shown.now = in_force(VENUE, "grey-00")
    look = looking(shown)
    before = look.frame(150.0, 1.0)
    shown.batch = {SECOND: in_force(greys(pixels=pixels), "grey-30", revision=2, at_s=200.0)}
    after = look.frame(201.0, 1.0)
    assert before is not None
    assert after is not None
    assert len(before[1]) == len(after[1])
    lit = np.frombuffer(after[1], np.uint8).reshape(2, 2, -1, 3).max(axis=-1)
    assert lit[0].max() == DARK
    # Each of its two runs as far as the drawn one reaches.
    assert (lit[1] == GREY).sum(axis=-1).tolist() == [min(pixels, 30)] * 2


def test_nothing_shows_before_the_first_take() -> None:
    shown = Shown(VENUE)
    look = looking(shown)
    assert look.frame(50.0, 1.0) is None
    shown.now = in_force(VENUE, "grey-30", at_s=100.0)
    assert look.frame(99.0, 1.0) is None
    assert seen(look, 100.0) == [GREY, GREY]
