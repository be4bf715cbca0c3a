"""The hub is killed in every state of a rollout in batches, and at its messages: it goes on, or halts, as it must."""

import time
from collections.abc import Callable

import pytest

from hub.errors import ConflictError, UnavailableError
from hub.rollout import BatchSize, RolloutPlan
from hub.rollout.models import RolloutState
from tests.hub.rollout.conftest import HubHalf
from tests.hub.rollout.test_batches import ALL, CANARY, begun, in_state, opened, shows, wait_until_scenes
from tests.processes import wait_until

CANARY_FIRST = RolloutPlan(scene="full-white", batches=(BatchSize(nodes=1),))
SOAKED = CANARY_FIRST.model_copy(update={"soak_s": 0.5})
WAITING = CANARY_FIRST.model_copy(update={"wait_for_go": True})
HELD = CANARY_FIRST.model_copy(update={"on_failure": "hold"})


def _accounted_for(hub: HubHalf) -> None:
    """No board shows, or holds staged, what the hub does not know to be there."""
    revisions = {view.revision: view for view in hub.rollouts.page("arcade", None, 50)}
    for board in hub.boards.boards.values():
        for held in (board.showing, board.staged):
            assert held is None or held.revision in revisions
        wanted = hub.rollouts.wanted("arcade", board.node)
        assert wanted is not None
        assert wanted.revision in revisions
    ahead = {one.revision for one in hub.rollouts.ahead("arcade").values()}
    assert len(ahead) <= 1


def _killed(hub: HubHalf) -> None:
    hub.kill()
    hub.open_again()
    _accounted_for(hub)


def _staging(hub: HubHalf) -> int:
    hub.boards.boards[CANARY].deaf = True
    revision = begun(hub, CANARY_FIRST)
    in_state(hub, revision, RolloutState.STAGING)
    _killed(hub)
    hub.boards.boards[CANARY].deaf = False
    return revision


def _staged(hub: HubHalf) -> int:
    revision = begun(hub, WAITING)
    in_state(hub, revision, RolloutState.STAGED)
    _killed(hub)
    assert set(shows(hub).values()) == {"dusk"}
    for batch in (1, 2):
        in_state(hub, revision, RolloutState.STAGED)
        wait_until(lambda: _goes(hub, revision), 5.0, "the hub to have heard its nodes")
        wait_until(lambda batch=batch: len(_takes(hub, revision)) == batch, 5.0, "the batch to be taken")  # type: ignore[misc]
    return revision


def _soaking(hub: HubHalf) -> int:
    revision = begun(hub, SOAKED)
    in_state(hub, revision, RolloutState.SOAKING)
    _killed(hub)
    wait_until_scenes(hub, "full-white", "dusk", "dusk")
    return revision


def _paused(hub: HubHalf) -> int:
    revision = begun(hub, SOAKED)
    in_state(hub, revision, RolloutState.SOAKING)
    hub.rollouts.pause("arcade", revision)
    _killed(hub)
    until_s = time.time() + 1.0
    wait_until(lambda: time.time() > until_s, 3.0, "its soak to be over")
    assert hub.rollouts.rollout("arcade", revision).paused
    assert shows(hub)["bay-0002"] == "dusk"
    hub.rollouts.resume("arcade", revision)
    return revision


def _planned(hub: HubHalf) -> int:
    first = begun(hub, SOAKED)
    revision = begun(hub, CANARY_FIRST.model_copy(update={"queue": True}))
    _killed(hub)
    in_state(hub, first, RolloutState.TAKEN)
    return revision


def _taken(hub: HubHalf) -> int:
    revision = begun(hub, CANARY_FIRST)
    in_state(hub, revision, RolloutState.TAKEN)
    _killed(hub)
    return revision


@pytest.mark.parametrize("state", [_planned, _staging, _staged, _soaking, _paused, _taken])
def test_killed_in_any_state_it_goes_on_to_its_end(hub: HubHalf, state: Callable[[HubHalf], int]) -> None:
    opened(hub)
    revision = state(hub)
    view = in_state(hub, revision, RolloutState.TAKEN)
    hub.wait_until_shown(view.revision)
    _accounted_for(hub)
    wait_until(lambda: hub.rollouts.ahead("arcade") == {}, 3.0, "all to be of one revision")


def test_killed_while_it_is_taken_back_it_is_taken_back(hub: HubHalf) -> None:
    opened(hub)
    revision = begun(hub, SOAKED)
    in_state(hub, revision, RolloutState.SOAKING)
    wait_until_scenes(hub, "full-white", "dusk", "dusk")
    hub.boards.boards[CANARY].deaf = True  # so that going back is under way for a while
    hub.rollouts.revert("arcade", revision)
    assert hub.rollouts.rollout("arcade", revision).state is RolloutState.HALTED
    _killed(hub)
    assert set(hub.rollouts.ahead("arcade")) == {CANARY}
    hub.boards.boards[CANARY].deaf = False
    in_state(hub, revision, RolloutState.REVERTED)
    wait_until_scenes(hub, "dusk", "dusk", "dusk")
    _killed(hub)
    assert hub.rollouts.rollout("arcade", revision).state is RolloutState.REVERTED
    hub.wait_until_free()
    assert hub.rollouts.ahead("arcade") == {}


def test_killed_when_halted_the_part_that_was_taken_stays_as_it_is(hub: HubHalf) -> None:
    before = opened(hub)
    hub.boards.boards["bay-0003"].refuses_scene = "full-white"
    revision = begun(hub, HELD)
    in_state(hub, revision, RolloutState.HALTED)
    _killed(hub)
    assert {node: hub.rollouts.desired_revision("arcade", node) for node in ALL} == {
        CANARY: revision, "bay-0002": before, "bay-0003": before,
    }  # fmt: skip
    wait_until_scenes(hub, "full-white", "dusk", "dusk")


@pytest.mark.parametrize("message", [0, 1, 2, 4, 5, 6, 7, 9])
def test_killed_at_a_message_every_board_ends_in_the_same_revision(hub: HubHalf, message: int) -> None:
    before = opened(hub)
    hub.kill_at_message(message)
    revision = begun(hub, CANARY_FIRST)
    wait_until(lambda: hub.is_killed, 8.0, "the hub to die")
    hub.open_again()
    _accounted_for(hub)
    in_state(hub, revision, RolloutState.TAKEN)
    hub.wait_until_shown(revision)
    assert {tuple(board.shown) for board in hub.boards.boards.values()} == {(before, revision)}


def _goes(hub: HubHalf, revision: int) -> bool:
    try:
        hub.rollouts.go("arcade", revision)
    except (ConflictError, UnavailableError):
        return False
    return True


def _takes(hub: HubHalf, revision: int) -> list[int]:
    batches = hub.rollouts.rollout("arcade", revision).batches
    return [batch.take_at_ms for batch in batches if batch.take_at_ms is not None]
