"""The scene in force is told as nodes are to show it: by take or by timetable, on all or apart, ahead or not yet."""

from hub.rollout.kept_choices import KeptChoices, KeptChosen
from hub.scenes.showing import SceneShowing, TakeToCome, showing
from tests.hub.scenes.shown import Shown, in_force
from tests.hub.scenes.test_venue_look import FIRST, SECOND, VENUE, chosen, timed

BOTH = [FIRST, SECOND]


def scene(scene: str | None, since_s: float, nodes: list[str], *, by: bool = False, revision: int = 1) -> SceneShowing:
    return SceneShowing(scene=scene, revision=revision, since_ms=round(since_s * 1_000), by_timetable=by, nodes=nodes)


def test_nothing_shows_before_the_first_take() -> None:
    shown = Shown(VENUE)
    assert showing(shown, VENUE.id, 50.0).scenes == []
    shown.now = in_force(VENUE, "grey-30", at_s=100.0)
    assert showing(shown, VENUE.id, 99.9).scenes == []
    assert showing(shown, VENUE.id, 100.0).scenes == [scene("grey-30", 100.0, BOTH)]


def test_timetable_takes_over_from_a_person_and_the_next_take_is_told() -> None:
    shown = Shown(VENUE)
    kept = KeptChoices(common=chosen("grey-00"), timetable=(timed(200.0, "grey-30", 1.5), timed(300.0, None)))
    shown.now = in_force(VENUE, None, kept=kept)
    early = showing(shown, VENUE.id, 150.0)
    assert early.scenes == [scene("grey-00", 100.0, BOTH)]
    assert early.next == TakeToCome(at_ms=200_000, scene="grey-30", fade_ms=1_500)
    assert showing(shown, VENUE.id, 250.0).scenes == [scene("grey-30", 200.0, BOTH, by=True)]
    late = showing(shown, VENUE.id, 350.0)
    assert (late.scenes, late.next) == ([scene(None, 300.0, BOTH, by=True)], None)


def test_nodes_apart_are_told_until_the_timetable_brings_them_together() -> None:
    shown = Shown(VENUE)
    kept = KeptChoices(
        common=chosen("grey-30"), apart={SECOND: chosen("grey-00", 120.0)}, timetable=(timed(200.0, None),)
    )
    shown.now = in_force(VENUE, None, kept=kept)
    assert showing(shown, VENUE.id, 150.0).scenes == [
        scene("grey-30", 100.0, [FIRST]),
        scene("grey-00", 120.0, [SECOND]),
    ]
    assert showing(shown, VENUE.id, 200.0).scenes == [scene(None, 200.0, BOTH, by=True)]


def test_batch_that_was_taken_is_told_and_a_take_that_lies_ahead_is_not() -> None:
    shown = Shown(VENUE)
    shown.before = in_force(VENUE, "grey-00")
    shown.now = in_force(VENUE, "grey-30", revision=2, at_s=200.0)
    assert showing(shown, VENUE.id, 199.0).scenes == [scene("grey-00", 100.0, BOTH)]
    shown.batch = {SECOND: in_force(VENUE, "grey-00", revision=3, at_s=300.0)}
    assert showing(shown, VENUE.id, 299.0).scenes == [scene("grey-30", 200.0, BOTH, revision=2)]
    assert showing(shown, VENUE.id, 300.0).scenes == [
        scene("grey-30", 200.0, [FIRST], revision=2),
        scene("grey-00", 300.0, [SECOND], revision=3),
    ]


def test_opening_scene_is_told_since_the_venue_opened() -> None:
    shown = Shown(VENUE)
    opening = KeptChosen(scene="grey-30", since_ms=60_000, opened_ms=99_000)
    kept = KeptChoices(common=opening, timetable=(timed(60.0, None), timed(200.0, "grey-00")))
    shown.now = in_force(VENUE, None, kept=kept)
    assert showing(shown, VENUE.id, 150.0).scenes == [scene("grey-30", 99.0, BOTH)]
    assert showing(shown, VENUE.id, 200.0).scenes == [scene("grey-00", 200.0, BOTH, by=True)]
