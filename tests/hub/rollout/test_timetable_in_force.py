"""The timetable that goes out by itself: with every revision, once a day, and as its scenes turn out to pass."""

import json
from datetime import UTC, datetime
from typing import Any

import pytest

from hub.errors import ConflictError
from hub.rollout import RolloutPlan, RolloutView, Selection
from hub.rollout.kept_choices import KeptChoices, KeptChosen
from hub.rollout.models import RolloutState
from schemas import TimedTake, Venue, shown_at
from tests.hub.rollout.conftest import HubHalf
from tests.hub.rollout.test_batches import ALL, begun, in_state, kept_by_broker, opened
from tests.processes import wait_until

DAY_MS = 86_400_000


def _at(hub: HubHalf, in_min: float) -> str:
    """A time of day in UTC, so many minutes from now."""
    return datetime.fromtimestamp(hub.now_s() + 60 * in_min, UTC).strftime("%H:%M")


def _entry(scene: str | None, begins: str, ends: str) -> dict[str, Any]:
    return {"id": f"entry-{scene or 'dark'}", "scene": scene, "begins": begins, "ends": ends, "fade_ms": 400}


def _timetable(hub: HubHalf, *entries: dict[str, Any], **facts: object) -> int:
    """The venue with these entries, as a person would write them; the revision that follows."""
    newest = hub.rollouts.page("arcade", None, 1)[0].revision
    document = json.loads(hub.inventory.venue("arcade").model_dump_json())
    changed = Venue.model_validate_json(json.dumps(document | {"timetable": entries} | facts))
    hub.inventory.venues["arcade"] = changed
    hub.rollouts.venue_changed("arcade")
    revision = _newer(hub, newest).revision
    hub.wait_until_free()
    hub.wait_until_shown(revision)
    return revision


def _newer(hub: HubHalf, revision: int) -> RolloutView:
    """The next revision, once it has ended."""
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].revision > revision, 15.0, "a newer revision")
    return hub.ended(hub.rollouts.page("arcade", None, 1)[0].revision)


def _shows_by_document(hub: HubHalf, in_s: float = 0.0) -> set[str | None]:
    """What the documents on the broker say that boards show then."""
    at_ms = (hub.now_s() + in_s) * 1_000
    return {shown_at(kept_by_broker(hub, node).body, at_ms).scene for node in ALL}


def _all_day(hub: HubHalf) -> dict[str, Any]:
    return _entry("full-white", _at(hub, -60), _at(hub, 600))


def test_what_the_timetable_has_on_goes_before_the_opening_scene(hub: HubHalf) -> None:
    opened(hub)
    _timetable(hub, _all_day(hub))
    assert _shows_by_document(hub) == {"full-white"}
    timetable = kept_by_broker(hub, ALL[0]).body.timetable
    assert timetable[-1].at_ms > hub.now_s() * 1_000 + 7 * DAY_MS
    assert _shows_by_document(hub, in_s=601 * 60) == {None}


def test_new_venue_opens_in_its_opening_scene_where_its_timetable_has_nothing_on(hub: HubHalf) -> None:
    opened(hub)
    document = json.loads(hub.inventory.venue("arcade").model_dump_json()) | {"id": "hall"}
    entries = [_entry("full-white", _at(hub, 30), _at(hub, 40))]
    hub.inventory.venues["hall"] = Venue.model_validate_json(json.dumps(document | {"timetable": entries}))
    hub.rollouts.venue_changed("hall")
    in_force = wait_until(lambda: hub.rollouts.in_force("hall"), 10.0, "the opening scene")
    body = next(iter(in_force.prepared.documents.values())).body
    now_ms = hub.now_s() * 1_000
    shown = [shown_at(body, now_ms + minutes * 60_000).scene for minutes in (0, 31, 41)]
    assert shown == [hub.inventory.venue("hall").opening_scene, "full-white", None]


def test_opening_scene_gives_way_to_what_the_timetable_has_on_and_does_not_return() -> None:
    opened = KeptChoices(common=KeptChosen(scene="dusk", opened_ms=1_000))
    dark = (TimedTake(at_ms=500), TimedTake(at_ms=2_000, scene="full-white"), TimedTake(at_ms=3_000))
    # Nothing on; then the scene of an entry that was on all along turns out to pass the flash check.
    assert opened.refreshed(dark, 1_000).common.since_ms == 500
    on = (TimedTake(at_ms=500, scene="full-white"), *dark[2:])
    assert opened.refreshed(dark, 1_000).refreshed(on, 1_200).common.since_ms == 0
    # The day after: nothing is on, since an entry ended that was on.
    assert opened.refreshed(dark, 1_000).refreshed(dark[2:], 3_500).common.since_ms == 0


def test_take_holds_until_the_next_timed_take_or_until_it_is_let_go(hub: HubHalf) -> None:
    opened(hub)
    _timetable(hub, _all_day(hub))
    hub.ended(hub.rollouts.take("arcade", "dusk").revision)
    hub.wait_until_free()
    wait_until(lambda: _shows_by_document(hub) == {"dusk"}, 3.0, "the take to stand")
    assert _shows_by_document(hub, in_s=601 * 60) == {None}
    hub.ended(hub.rollouts.follow_timetable("arcade").revision)
    wait_until(lambda: _shows_by_document(hub) == {"full-white"}, 3.0, "the timetable to count again")


def test_nothing_on_cannot_be_followed(hub: HubHalf) -> None:
    opened(hub)
    with pytest.raises(ConflictError, match="has nothing on now"):
        hub.rollouts.follow_timetable("arcade")


def test_going_back_shows_as_if_the_take_had_not_been(hub: HubHalf) -> None:
    opened(hub)
    _timetable(hub, _all_day(hub))
    hub.ended(hub.rollouts.take("arcade", "dusk").revision)
    hub.wait_until_free()
    hub.ended(hub.rollouts.back("arcade").revision)
    wait_until(lambda: _shows_by_document(hub) == {"full-white"}, 3.0, "the timetable to count again")


def test_change_of_the_timetable_that_nobody_sees_does_not_fade(hub: HubHalf) -> None:
    opened(hub)
    later = _entry("full-white", _at(hub, 60), _at(hub, 120))
    _timetable(hub, later, _entry(None, _at(hub, 30), _at(hub, 40)))
    hub.ended(hub.rollouts.take("arcade", "dusk").revision)
    hub.wait_until_free()
    revision = _timetable(hub, later)
    assert hub.rollouts.rollout("arcade", revision).fade_ms == 0
    assert _shows_by_document(hub) == {"dusk"}


def test_timetable_is_refreshed_once_a_day_and_nothing_else_changes(hub: HubHalf) -> None:
    opened(hub)
    revision = _timetable(hub, _all_day(hub))
    before = {node: kept_by_broker(hub, node).body for node in ALL}
    hub.later_s = 25 * 3_600.0
    hub.open_again()
    view = _newer(hub, revision)
    hub.wait_until_shown(view.revision)
    assert view.fade_ms == 0
    hub.wait_until_free()
    for node in ALL:
        after = kept_by_broker(hub, node).body
        assert after.timetable[-1].at_ms > before[node].timetable[-1].at_ms
        assert (after.showing, after.showing_since_ms) == (before[node].showing, before[node].showing_since_ms)
    assert hub.rollouts._venues.inherited_back("arcade") == revision - 1


def test_venue_without_a_timetable_is_left_alone_for_days(hub: HubHalf) -> None:
    revision = opened(hub)
    hub.later_s = 25 * 3_600.0
    hub.open_again()
    hub.wait_until_free()
    hub.rollouts._unattended.wake()
    until_s = hub.now_s() + 1.5
    wait_until(lambda: hub.now_s() > until_s, 3.0, "some looks of the hub")
    assert hub.rollouts.page("arcade", None, 1)[0].revision == revision


def test_scene_that_is_not_checked_for_flashes_stays_out_until_it_passes(hub: HubHalf) -> None:
    opened(hub)
    hub.unchecked_scenes.add("full-white")
    revision = _timetable(hub, _all_day(hub))
    _newer(hub, revision)
    wait_until(lambda: _shows_by_document(hub) == {"full-white"}, 5.0, "it to be on")
    assert hub.rollouts.left_out("arcade") == {}


def test_scene_that_fails_the_flash_check_stays_out_and_is_told(hub: HubHalf) -> None:
    opened(hub)
    hub.failing_scenes.add("full-white")
    _timetable(hub, _all_day(hub))
    assert _shows_by_document(hub) == {"dusk"}
    assert "fails: general flashes" in hub.rollouts.left_out("arcade")["entry-full-white"]


def test_takes_that_follow_by_themselves_go_between_those_of_the_venue(hub: HubHalf) -> None:
    opened(hub)
    _timetable(hub, _all_day(hub))
    now_ms = round(hub.now_s() * 1_000)
    follows = (TimedTake(at_ms=now_ms + 60_000, scene="dusk", fade_ms=100), TimedTake(at_ms=now_ms + 120_000))
    hub.ended(hub.rollouts.at_once("arcade", "full-white", 0, timetable_extra=follows).revision)
    hub.wait_until_free()
    assert [_shows_by_document(hub, in_s=in_s) for in_s in (1, 61, 121)] == [{"full-white"}, {"dusk"}, {None}]
    hub.open_again()
    hub.wait_until_free()
    hub.ended(hub.rollouts.take("arcade", "dusk").revision)
    hub.wait_until_free()
    wait_until(lambda: _shows_by_document(hub, in_s=121) == {"dusk"}, 3.0, "nothing of them to follow a take")


def test_part_that_shows_another_scene_follows_the_next_timed_take_like_the_rest(hub: HubHalf) -> None:
    opened(hub)
    _timetable(hub, _all_day(hub))
    revision = begun(hub, RolloutPlan(scene="dusk", select=Selection(nodes=(ALL[0],))))
    in_state(hub, revision, RolloutState.TAKEN)
    hub.wait_until_shown(revision)
    assert _shows_by_document(hub) == {"dusk", "full-white"}
    assert _shows_by_document(hub, in_s=601 * 60) == {None}


def test_go_after_the_timetable_moved_on_begins_it_anew(hub: HubHalf) -> None:
    opened(hub)
    _timetable(hub, _all_day(hub))
    staged = begun(hub, RolloutPlan(scene="dusk", wait_for_go=True))
    in_state(hub, staged, RolloutState.STAGED)
    hub.later_s = 12 * 3_600.0  # past the end of the entry
    view = hub.rollouts.go("arcade", staged)
    assert view.revision > staged
    in_state(hub, view.revision, RolloutState.TAKEN)
    wait_until(lambda: _shows_by_document(hub) == {"dusk"}, 3.0, "what the person said")
