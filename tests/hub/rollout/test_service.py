import asyncio
import gc

import pytest

from hub.errors import ConflictError, InvalidError, NotFoundError, UnavailableError
from hub.rollout.kept_choices import KeptChoices
from hub.rollout.models import RolloutState
from hub.rollout.store import KEPT_ROLLOUTS
from schemas import Desired, Leaf, node_topic
from tests.hub.desired.venues import row_document, row_venue, venue_from
from tests.hub.rollout.boards import Boards
from tests.hub.rollout.conftest import HubHalf
from tests.processes import wait_until


def _retained(boards: Boards) -> list[Desired]:
    payloads = [boards.retained[node_topic("arcade", node, Leaf.DESIRED)] for node in boards.boards]
    return [Desired.model_validate_json(payload) for payload in payloads]


def _opened(hub: HubHalf) -> int:
    """Wait for the opening scene; its revision."""
    revision = hub.ended().revision
    hub.wait_until_shown(revision)
    hub.wait_until_free()
    return revision


def test_new_venue_is_rolled_out_in_its_opening_scene(hub: HubHalf) -> None:
    view = hub.ended()
    assert (view.revision, view.scene, view.state) == (1, "dusk", RolloutState.TAKEN)
    hub.wait_until_shown(1)
    assert hub.rollouts.desired_revision("arcade", "bay-0001") == 1
    assert hub.rollouts.desired_revision("arcade", "stranger") is None


def test_take_reaches_every_board_and_stands_in_the_retained_documents(hub: HubHalf) -> None:
    _opened(hub)
    revision = hub.rollouts.take("arcade", "full-white", 700).revision
    view = hub.ended(revision)
    assert (view.state, view.fade_ms, view.nodes_expected, view.nodes_staged) == (RolloutState.TAKEN, 700, 3, 3)
    hub.wait_until_shown(revision)
    wait_until(lambda: all(desired.take is not None for desired in _retained(hub.boards)), 3.0)
    taken = [(desired.revision, desired.take and desired.take.at_ms) for desired in _retained(hub.boards)]
    assert taken == [(revision, view.take_at_ms)] * 3


def test_documents_of_a_venue_are_out_of_the_collectors_sight(hub: HubHalf) -> None:
    _opened(hub)
    in_force = hub.rollouts.in_force("arcade")
    assert in_force is not None
    channels = {id(channel) for one in in_force.prepared.documents.values() for channel in one.body.channels}
    assert channels
    assert not channels & {id(seen) for seen in gc.get_objects()}


def test_take_message_is_repeated(hub: HubHalf) -> None:
    revision = _opened(hub)
    takes = [take for take in hub.boards.takes if take.revision == revision]
    assert len(takes) >= 2
    assert len({take.at_ms for take in takes}) == 1


def test_darkness_can_be_taken(hub: HubHalf) -> None:
    _opened(hub)
    assert hub.ended(hub.rollouts.take("arcade", None).revision).scene is None


def test_refusal_halts_tells_why_and_gives_every_board_what_is_in_force(hub: HubHalf) -> None:
    in_force = _opened(hub)
    hub.boards.boards["bay-0002"].refuses_scene = "full-white"
    view = hub.ended(hub.rollouts.take("arcade", "full-white").revision)
    assert view.state is RolloutState.HALTED
    assert [(refusal.node, refusal.field, refusal.remedy) for refusal in view.refusals] == [
        ("bay-0002", "body.showing", "another scene")
    ]
    assert "bay-0002" in (view.reason or "")
    wait_until(lambda: all(desired.revision == in_force for desired in _retained(hub.boards)), 3.0)
    assert [board.shown for board in hub.boards.boards.values()] == [[in_force]] * 3


def test_board_that_is_on_but_does_not_answer_halts(hub: HubHalf) -> None:
    _opened(hub)
    hub.boards.boards["bay-0003"].deaf = True
    view = hub.ended(hub.rollouts.take("arcade", "full-white").revision)
    assert view.state is RolloutState.HALTED
    assert [refusal.node for refusal in view.refusals] == ["bay-0003"]


def test_board_that_is_off_is_skipped_and_catches_up_when_it_returns(hub: HubHalf) -> None:
    _opened(hub)
    hub.boards.switch("bay-0003", on=False)
    revision = hub.rollouts.take("arcade", "full-white").revision
    assert hub.ended(revision).nodes_expected == 2
    hub.wait_until_shown(revision, "bay-0001", "bay-0002")
    hub.boards.switch("bay-0003", on=True)
    hub.wait_until_shown(revision)


def test_board_that_lost_its_document_gets_it_again(hub: HubHalf) -> None:
    revision = _opened(hub)
    board = hub.boards.boards["bay-0002"]
    board.showing = board.staged = None
    hub.boards._say(board)
    hub.wait_until_shown(revision)


def test_second_rollout_is_refused_and_told_which_one_runs(hub: HubHalf) -> None:
    _opened(hub)
    hub.boards.boards["bay-0001"].deaf = True
    revision = hub.rollouts.take("arcade", "full-white").revision
    with pytest.raises(ConflictError, match=f"revision {revision} .*full-white.* is being staged"):
        hub.rollouts.take("arcade", "dusk")
    with pytest.raises(ConflictError):
        hub.rollouts.back("arcade")


def test_back_takes_what_was_before_as_a_new_revision(hub: HubHalf) -> None:
    first = _opened(hub)
    second = hub.ended(hub.rollouts.take("arcade", "full-white").revision).revision
    hub.wait_until_free()
    view = hub.ended(hub.rollouts.back("arcade").revision)
    assert view.revision > second > first
    assert (view.scene, view.state) == ("dusk", RolloutState.TAKEN)
    hub.wait_until_shown(view.revision)


def test_back_with_nothing_before_is_refused(hub: HubHalf) -> None:
    _opened(hub)
    with pytest.raises(ConflictError, match="take a scene instead"):
        hub.rollouts.back("arcade")


def test_unknown_venue_and_scene_are_not_found(hub: HubHalf) -> None:
    _opened(hub)
    with pytest.raises(NotFoundError):
        hub.rollouts.take("nowhere", None)
    with pytest.raises(NotFoundError):
        hub.rollouts.take("arcade", "noon")
    with pytest.raises(NotFoundError):
        hub.rollouts.rollout("arcade", 99)


def test_nothing_is_taken_while_the_broker_is_away(hub: HubHalf) -> None:
    in_force = _opened(hub)
    hub.fleet.link_changed(False)
    hub.fleet.call(lambda _now_s: None)
    with pytest.raises(UnavailableError):
        hub.rollouts.take("arcade", "full-white")
    assert hub.rollouts.page("arcade", None, 5)[0].revision == in_force


def test_changed_venue_is_rolled_out_in_the_scene_in_force_and_removed_node_loses_its_document(hub: HubHalf) -> None:
    _opened(hub)
    shown = hub.ended(hub.rollouts.take("arcade", "full-white").revision).revision
    hub.wait_until_shown(shown)
    hub.inventory.venues["arcade"] = row_venue(nodes=2)
    hub.rollouts.venue_changed("arcade")
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].revision > shown, 5.0, "the new rollout")
    view = hub.ended(hub.rollouts.page("arcade", None, 1)[0].revision)
    assert (view.scene, view.state) == ("full-white", RolloutState.TAKEN)
    wait_until(lambda: hub.boards.retained[node_topic("arcade", "bay-0003", Leaf.DESIRED)] == b"", 3.0)
    assert hub.rollouts.desired_revision("arcade", "bay-0003") is None


def test_node_added_by_a_refused_change_loses_the_document_that_it_staged(hub: HubHalf) -> None:
    _opened(hub)
    hub.inventory.venues["arcade"] = row_venue(nodes=2)
    hub.rollouts.venue_changed("arcade")
    wait_until(lambda: hub.rollouts.desired_revision("arcade", "bay-0003") is None, 5.0)
    hub.wait_until_free()
    in_force = hub.rollouts.desired_revision("arcade", "bay-0001")
    hub.boards.boards["bay-0001"].refuses_scene = "dusk"
    hub.inventory.venues["arcade"] = row_venue(nodes=3)
    hub.rollouts.venue_changed("arcade")
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].state is RolloutState.HALTED, 5.0)
    wait_until(lambda: hub.boards.retained[node_topic("arcade", "bay-0003", Leaf.DESIRED)] == b"", 3.0)
    assert hub.rollouts.desired_revision("arcade", "bay-0001") == in_force


def test_venue_that_did_not_change_is_not_rolled_out_again(hub: HubHalf) -> None:
    revision = _opened(hub)
    hub.rollouts.venue_changed("arcade")
    wait_until(lambda: not hub.rollouts._unattended.busy, 3.0)
    assert hub.rollouts.page("arcade", None, 1)[0].revision == revision


def test_change_while_a_rollout_runs_follows_it(hub: HubHalf) -> None:
    _opened(hub)
    revision = hub.rollouts.take("arcade", "full-white").revision
    hub.inventory.venues["arcade"] = row_venue(nodes=3, pixels=31)
    hub.rollouts.venue_changed("arcade")
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].revision > revision, 5.0, "the next rollout")
    assert hub.ended(revision).state is RolloutState.TAKEN
    assert hub.ended().scene == "full-white"


def test_venue_that_no_node_could_hold_is_written_down_as_halted(hub: HubHalf) -> None:
    in_force = _opened(hub)
    document = row_document(nodes=3)
    spot = {"pattern": "spot", "colour": "#ffffff", "spans": [{"first": first} for first in range(64)]}
    document["scenes"] += [
        {"id": f"s-{number}", "title": "S", "layers": [{"zone": "band", "pattern": spot}] * 16} for number in range(60)
    ]
    hub.inventory.venues["arcade"] = venue_from(document)
    hub.rollouts.venue_changed("arcade")
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].revision > in_force, 5.0, "the halted rollout")
    view = hub.rollouts.page("arcade", None, 1)[0]
    assert view.state is RolloutState.HALTED
    assert view.refusals[0].field == "nodes.bay-0001"
    assert hub.rollouts.desired_revision("arcade", "bay-0001") == in_force
    with pytest.raises(InvalidError):
        hub.rollouts.take("arcade", "dusk")


def test_boards_of_a_lost_database_get_a_revision_above_theirs(hub: HubHalf) -> None:
    _opened(hub)
    board = hub.boards.boards["bay-0001"]
    assert board.showing is not None
    board.showing = board.showing.model_copy(update={"revision": 40})
    hub.boards._say(board)
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].revision == 41, 5.0, "a revision above")
    hub.wait_until_shown(41)


def test_claim_far_beyond_every_revision_uses_no_numbers_up(hub: HubHalf) -> None:
    revision = _opened(hub)
    board = hub.boards.boards["bay-0001"]
    assert board.showing is not None
    board.showing = board.showing.model_copy(update={"revision": 2**53 - 1})
    hub.boards._say(board)
    hub.fleet.call(lambda _now_s: None)
    hub.boards.switch("bay-0001", on=False)
    assert hub.ended(hub.rollouts.take("arcade", "full-white").revision).revision == revision + 1


def test_old_rollouts_and_their_snapshots_are_dropped(hub: HubHalf) -> None:
    _opened(hub)
    sha256 = hub.rollouts._store.newest("arcade").snapshot_sha256  # type: ignore[union-attr]
    rollouts = hub.rollouts._venues.of("arcade")
    for _ in range(KEPT_ROLLOUTS + 3):
        hub.fleet.call(lambda now_s: rollouts.record_halted(sha256, KeptChoices(), "test", [], now_s))
    hub.rollouts._store.prune("arcade")
    rows = hub.rollouts.page("arcade", None, 500)
    assert len(rows) == KEPT_ROLLOUTS + 1
    assert rows[-1].state is RolloutState.TAKEN


def test_events_have_the_shape_of_the_rest_answer(hub: HubHalf) -> None:
    async def follow() -> list[dict[str, object]]:
        subscription = hub.events.subscribe("arcade")
        await asyncio.to_thread(_opened, hub)
        view = await asyncio.to_thread(hub.rollouts.take, "arcade", "full-white")
        seen: list[dict[str, object]] = []
        while not seen or seen[-1]["revision"] != view.revision or seen[-1]["state"] != "taken":
            event = await asyncio.wait_for(anext(subscription), 5.0)
            assert event.kind == "rollout"
            seen.append(dict(event.data))
        hub.events.unsubscribe(subscription)
        return seen

    seen = asyncio.run(follow())
    final = hub.rollouts.rollout("arcade", int(str(seen[-1]["revision"])))
    assert seen[-1] == final.model_dump(mode="json")
