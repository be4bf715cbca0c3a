"""The hub is killed at every message of a rollout; the database is what it was at that very moment."""

import pytest

from hub.rollout.models import RolloutState
from schemas import Desired, Leaf, node_topic
from tests.hub.desired.venues import row_venue
from tests.hub.rollout.conftest import HubHalf
from tests.processes import wait_until


def _opened(hub: HubHalf) -> int:
    revision = hub.ended().revision
    hub.wait_until_shown(revision)
    hub.wait_until_free()
    wait_until(lambda: hub.rollouts.idle("arcade"), 5.0)
    return revision


@pytest.mark.parametrize("message", range(8))
def test_killed_at_any_message_the_rollout_goes_on_and_every_board_shows_it(hub: HubHalf, message: int) -> None:
    before = _opened(hub)
    hub.kill_at_message(message)
    revision = hub.rollouts.take("arcade", "full-white").revision
    wait_until(lambda: hub.is_killed, 5.0, "the hub to die")
    hub.open_again()
    assert hub.ended(revision).state is RolloutState.TAKEN
    hub.wait_until_shown(revision)
    assert {tuple(board.shown) for board in hub.boards.boards.values()} == {(before, revision)}
    assert hub.rollouts.desired_revision("arcade", "bay-0001") == revision
    assert [view.revision for view in hub.rollouts.page("arcade", None, 5)] == [revision, before]


@pytest.mark.parametrize("message", range(6))
def test_killed_at_any_message_a_refused_rollout_still_changes_nothing(hub: HubHalf, message: int) -> None:
    before = _opened(hub)
    hub.boards.boards["bay-0002"].refuses_scene = "full-white"
    hub.kill_at_message(message)
    revision = hub.rollouts.take("arcade", "full-white").revision
    wait_until(lambda: hub.is_killed, 5.0, "the hub to die")
    hub.open_again()
    view = hub.ended(revision)
    assert view.state is RolloutState.HALTED
    assert [refusal.node for refusal in view.refusals] == ["bay-0002"]

    def retained_is_in_force() -> bool:
        payloads = [hub.boards.retained[node_topic("arcade", node, Leaf.DESIRED)] for node in hub.boards.boards]
        return all(Desired.model_validate_json(payload).revision == before for payload in payloads)

    wait_until(retained_is_in_force, 5.0, "the documents in force to stand on the broker again")
    assert {tuple(board.shown) for board in hub.boards.boards.values()} == {(before,)}
    assert hub.rollouts.desired_revision("arcade", "bay-0001") == before


def test_staged_rollout_that_can_no_longer_be_read_is_halted(hub: HubHalf) -> None:
    before = _opened(hub)
    hub.inventory.venues["arcade"] = row_venue(nodes=3, pixels=31)
    hub.kill_at_message(0)
    revision = hub.rollouts.take("arcade", "full-white").revision
    wait_until(lambda: hub.is_killed, 5.0, "the hub to die")
    hub.spoil_snapshot(revision)
    hub.open_again()
    view = hub.ended(revision)
    assert (view.state, hub.rollouts.desired_revision("arcade", "bay-0001")) == (RolloutState.HALTED, before)
    assert "take the scene again" in (view.reason or "")


def test_restarted_hub_publishes_nothing_when_nothing_differs(hub: HubHalf) -> None:
    _opened(hub)
    hub.open_again()
    published = len(hub.boards.published)
    hub.wait_until_free()
    hub.fleet.call(lambda _now_s: None)
    assert len(hub.boards.published) == published
    assert hub.rollouts.idle("arcade")


def test_revisions_count_on_after_a_restart(hub: HubHalf) -> None:
    revision = _opened(hub)
    hub.open_again()
    hub.wait_until_free()
    assert hub.rollouts.take("arcade", "full-white").revision == revision + 1


def test_venue_changed_while_the_hub_was_down_is_rolled_out(hub: HubHalf) -> None:
    revision = _opened(hub)
    hub.inventory.venues["arcade"] = row_venue(nodes=3, pixels=31)
    hub.open_again()
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].revision > revision, 5.0, "the rollout of the change")
    assert hub.ended().state is RolloutState.TAKEN


def test_other_telemetry_interval_is_a_new_revision_and_not_another_hash_of_the_old(hub: HubHalf) -> None:
    revision = _opened(hub)
    hub.telemetry_interval_s = 1.0
    hub.open_again()
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].revision > revision, 5.0, "the rollout of the change")
    hub.wait_until_shown(hub.ended().revision)
    assert all(board.refusal is None for board in hub.boards.boards.values())
