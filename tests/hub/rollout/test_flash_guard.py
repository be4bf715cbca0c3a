"""A scene that fails the flash check goes out with a person's name only, whatever way it would go out."""

import json

import pytest

from hub.rollout.flash_guard import FlashUnconfirmedError
from hub.rollout.models import RolloutState
from hub.rollout.view import RolloutView
from schemas import Venue
from tests.hub.rollout.conftest import HubHalf
from tests.processes import wait_until

NAME = "Invented Warden"


def _opened(hub: HubHalf) -> int:
    revision = hub.ended().revision
    hub.wait_until_shown(revision)
    hub.wait_until_free()
    return revision


def _take(hub: HubHalf, scene: str, by: str | None = None) -> RolloutView:
    view = hub.ended(hub.rollouts.take("arcade", scene, flash_confirmed_by=by).revision)
    hub.wait_until_free()
    return view


def _changed(hub: HubHalf, **facts: object) -> None:
    """The venue with other facts, as the inventory would tell."""
    document = json.loads(hub.inventory.venue("arcade").model_dump_json())
    hub.inventory.venues["arcade"] = Venue.model_validate_json(json.dumps(document | facts))
    hub.rollouts.venue_changed("arcade")


def _newest_after(hub: HubHalf, revision: int) -> RolloutView:
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].revision > revision, 5.0, "the change to be rolled out")
    return hub.ended()


def _whiter() -> list[dict[str, object]]:
    return [{"id": "full-white", "title": "Full white", "layers": [
        {"zone": "band", "pattern": {"pattern": "wash", "colour": "#fffff0"}}]}]  # fmt: skip


def _scenes_of(hub: HubHalf, *, other: list[dict[str, object]]) -> list[object]:
    scenes = json.loads(hub.inventory.venue("arcade").model_dump_json())["scenes"]
    return [scene for scene in scenes if scene["id"] not in {one["id"] for one in other}] + other


def test_take_of_a_failing_scene_names_field_finding_and_remedy_and_changes_nothing(hub: HubHalf) -> None:
    revision = _opened(hub)
    hub.failing_scenes.add("full-white")
    with pytest.raises(FlashUnconfirmedError) as refused:
        hub.rollouts.take("arcade", "full-white")
    assert refused.value.status == 409
    (mistake,) = refused.value.mistakes
    assert mistake.field == "body.flash_confirmed_by"
    assert "fails: general flashes" in mistake.reason
    assert "by 0.5" in mistake.remedy
    assert hub.rollouts.page("arcade", None, 1)[0].revision == revision


def test_name_goes_with_the_rollout_and_survives_a_restart(hub: HubHalf) -> None:
    _opened(hub)
    hub.failing_scenes.add("full-white")
    view = _take(hub, "full-white", NAME)
    assert (view.state, view.flash_confirmed_by) == (RolloutState.TAKEN, NAME)
    hub.open_again()
    in_force = hub.rollouts.in_force("arcade")
    assert in_force is not None
    assert in_force.flash_confirmed_by == NAME
    assert hub.rollouts.rollout("arcade", view.revision).flash_confirmed_by == NAME


def test_name_counts_for_nothing_where_the_scene_passes_or_is_darkness(hub: HubHalf) -> None:
    _opened(hub)
    assert _take(hub, "full-white", NAME).flash_confirmed_by is None
    assert hub.ended(hub.rollouts.take("arcade", None, flash_confirmed_by=NAME).revision).flash_confirmed_by is None


def test_going_back_carries_the_name_and_needs_one(hub: HubHalf) -> None:
    _opened(hub)
    hub.failing_scenes.add("full-white")
    _take(hub, "full-white", NAME)
    _take(hub, "dusk")
    back = hub.ended(hub.rollouts.back("arcade").revision)
    assert (back.scene, back.flash_confirmed_by) == ("full-white", NAME)
    hub.wait_until_free()
    hub.failing_scenes.add("dusk")  # which nobody confirmed when it was taken
    with pytest.raises(FlashUnconfirmedError):
        hub.rollouts.back("arcade")


def test_opening_scene_that_fails_waits_for_a_person(hub: HubHalf) -> None:
    other = Venue.model_validate_json(hub.inventory.venue("arcade").model_dump_json().replace('"arcade"', '"hall"', 1))
    _opened(hub)
    hub.failing_scenes.add("dusk")
    hub.inventory.venues["hall"] = other
    hub.rollouts.venue_changed("hall")
    view = wait_until(lambda: hub.rollouts.page("hall", None, 1), 5.0, "the opening scene to be judged")[0]
    assert view.state is RolloutState.HALTED
    assert "does not go out by itself" in (view.reason or "")
    assert "by 0.5" in (view.reason or "")
    assert hub.rollouts.in_force("hall") is None


def test_change_of_the_venue_goes_out_under_a_confirmed_scene(hub: HubHalf) -> None:
    _opened(hub)
    hub.failing_scenes.add("full-white")
    taken = _take(hub, "full-white", NAME)
    _changed(hub, title="Another title")
    view = _newest_after(hub, taken.revision)
    assert (view.state, view.scene, view.flash_confirmed_by) == (RolloutState.TAKEN, "full-white", NAME)


def test_scene_in_force_that_is_changed_so_that_it_fails_does_not_go_out_by_itself(hub: HubHalf) -> None:
    _opened(hub)
    taken = _take(hub, "full-white")
    hub.failing_scenes.add("full-white")
    _changed(hub, scenes=_scenes_of(hub, other=_whiter()))
    view = _newest_after(hub, taken.revision)
    assert (view.state, view.scene) == (RolloutState.HALTED, "full-white")
    assert "does not go out by itself" in (view.reason or "")
    in_force = hub.rollouts.in_force("arcade")
    assert in_force is not None
    assert in_force.revision == taken.revision
    hub.wait_until_free()
    assert _take(hub, "full-white", NAME).flash_confirmed_by == NAME


def test_confirmed_scene_that_is_changed_needs_a_person_again(hub: HubHalf) -> None:
    _opened(hub)
    hub.failing_scenes.add("full-white")
    taken = _take(hub, "full-white", NAME)
    _changed(hub, scenes=_scenes_of(hub, other=_whiter()))
    assert _newest_after(hub, taken.revision).state is RolloutState.HALTED


def test_scene_that_fails_where_it_is_in_force_already_does_not_hold_a_repair_up(hub: HubHalf) -> None:
    """In force since before anyone asked for names: the change of the wiring makes nothing worse."""
    _opened(hub)
    taken = _take(hub, "full-white")
    hub.failing_scenes.add("full-white")
    _changed(hub, title="Another title")
    view = _newest_after(hub, taken.revision)
    assert (view.state, view.scene, view.flash_confirmed_by) == (RolloutState.TAKEN, "full-white", None)
