"""Rollouts in batches on a real database and the real fleet loop: who shows what, and what a failure leaves behind."""

import json
import time
from collections.abc import Iterable

import pytest

from hub.errors import ConflictError, InvalidError
from hub.rollout import BatchSize, RolloutPlan, RolloutView, Selection
from hub.rollout.gates import GateWatch, NewFinding
from hub.rollout.models import RolloutState
from schemas import Desired, Leaf, Venue, node_topic
from tests.hub.rollout.conftest import HubHalf
from tests.processes import wait_until

CANARY, OTHERS = "bay-0001", ("bay-0002", "bay-0003")
ALL = (CANARY, *OTHERS)
ONE_FIRST = (BatchSize(nodes=1),)


class ToldFindings:
    """Findings as a health service tells them, once there are some."""

    def __init__(self) -> None:
        self.found: list[NewFinding] = []

    def opened_since(self, venue: str, since_ms: int) -> Iterable[NewFinding]:  # noqa: ARG002
        return self.found


def opened(hub: HubHalf) -> int:
    revision = hub.ended().revision
    hub.wait_until_shown(revision)
    hub.wait_until_free()
    return revision


def begun(hub: HubHalf, plan: RolloutPlan, by: str | None = None) -> int:
    return hub.rollouts.plan("arcade", plan, by).revision


def in_state(hub: HubHalf, revision: int, *states: RolloutState) -> RolloutView:
    def look() -> RolloutView | None:
        view = hub.rollouts.rollout("arcade", revision)
        return view if view.state in states else None

    view = wait_until(look, 8.0, f"revision {revision} to be {' or '.join(states)}")
    assert view is not None
    return view


def shows(hub: HubHalf) -> dict[str, str | None]:
    return {node: board.showing_scene for node, board in hub.boards.boards.items()}


def wait_until_scenes(hub: HubHalf, *scenes: str | None) -> None:
    wait_until(lambda: tuple(shows(hub).values()) == scenes, 5.0, f"boards to show {scenes}, not {shows(hub)}")


def kept_by_broker(hub: HubHalf, node: str) -> Desired:
    return Desired.model_validate_json(hub.boards.retained[node_topic("arcade", node, Leaf.DESIRED)])


def test_canary_is_watched_before_the_others_follow(hub: HubHalf) -> None:
    before = opened(hub)
    revision = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST, soak_s=0.8))
    view = in_state(hub, revision, RolloutState.SOAKING)
    wait_until_scenes(hub, "full-white", "dusk", "dusk")
    assert [batch.state for batch in view.batches] == ["soaking", "waiting"]
    assert [batch.nodes for batch in view.batches] == [1, 2]
    assert view.soak_ends_at_ms == (view.take_at_ms or 0) + 800
    assert view.expected_end_at_ms is not None
    assert hub.rollouts.desired_revision("arcade", CANARY) == revision
    assert {hub.rollouts.desired_revision("arcade", node) for node in OTHERS} == {before}
    assert set(hub.rollouts.ahead("arcade")) == {CANARY}
    view = in_state(hub, revision, RolloutState.TAKEN)
    hub.wait_until_shown(revision)
    assert hub.rollouts.ahead("arcade") == {}
    assert [batch.state for batch in view.batches] == ["taken", "taken"]
    assert (view.batches[1].take_at_ms or 0) >= (view.batches[0].take_at_ms or 0) + 800
    in_force = hub.rollouts.in_force("arcade")
    assert in_force is not None
    assert in_force.take_of(CANARY).at_ms == view.batches[0].take_at_ms


def test_nodes_that_are_not_selected_keep_their_scene_and_are_renumbered_silently(hub: HubHalf) -> None:
    opened(hub)
    before = {node: kept_by_broker(hub, node) for node in ALL}
    select = Selection(zones=("zone-bay-0002",))
    revision = begun(hub, RolloutPlan(scene="full-white", select=select))
    in_state(hub, revision, RolloutState.TAKEN)
    hub.wait_until_shown(revision)
    assert shows(hub) == {"bay-0001": "dusk", "bay-0002": "full-white", "bay-0003": "dusk"}
    for node in ("bay-0001", "bay-0003"):
        kept = kept_by_broker(hub, node)
        assert (kept.revision, kept.sha256) == (revision, before[node].sha256)
        assert kept.take is not None
        assert kept.take.fade_ms == 0
    in_force = hub.rollouts.in_force("arcade")
    assert in_force is not None
    assert in_force.prepared.choices.of("bay-0002").scene == "full-white"
    assert in_force.prepared.choices.of("bay-0001").scene == "dusk"


def test_take_of_everything_brings_all_together_again(hub: HubHalf) -> None:
    opened(hub)
    in_state(hub, begun(hub, RolloutPlan(scene=None, select=Selection(nodes=("bay-0003",)))), RolloutState.TAKEN)
    hub.wait_until_free()
    hub.wait_until_shown(hub.ended(hub.rollouts.take("arcade", "full-white").revision).revision)
    wait_until_scenes(hub, "full-white", "full-white", "full-white")


def test_canary_that_refuses_halts_and_nothing_ever_changed(hub: HubHalf) -> None:
    before = opened(hub)
    hub.boards.boards[CANARY].refuses_scene = "full-white"
    revision = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST, soak_s=30.0))
    view = in_state(hub, revision, RolloutState.HALTED)
    assert view.reason == (
        "halted: canary bay-0001 refused: not this one (another scene); "
        "reverted: what was staged is withdrawn, and none of the 3 nodes ever changed"
    )
    assert [batch.state for batch in view.batches] == ["halted", "waiting"]
    wait_until(lambda: all(kept_by_broker(hub, node).revision == before for node in ALL), 3.0, "what is in force")
    assert [board.shown for board in hub.boards.boards.values()] == [[before]] * 3


def test_later_batch_that_refuses_takes_the_canary_back(hub: HubHalf) -> None:
    before = opened(hub)
    sha256 = kept_by_broker(hub, CANARY).sha256
    hub.boards.boards["bay-0003"].refuses_scene = "full-white"
    revision = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST))
    view = in_state(hub, revision, RolloutState.REVERTED)
    assert view.reason is not None
    assert view.reason.startswith(
        "halted: bay-0003 refused: not this one (another scene); 1 node that had taken it goes back"
    )
    assert view.reason.endswith(f"the other 2 never changed; reverted by revision {revision + 1}")
    back = in_state(hub, revision + 1, RolloutState.TAKEN)
    assert back.reverts == revision
    hub.wait_until_shown(revision + 1)
    wait_until_scenes(hub, "dusk", "dusk", "dusk")
    assert kept_by_broker(hub, CANARY).sha256 == sha256
    assert hub.boards.boards["bay-0002"].shown == [before, revision + 1]
    assert hub.rollouts.ahead("arcade") == {}


def test_finding_while_it_soaks_takes_the_canary_back(hub: HubHalf) -> None:
    findings = ToldFindings()
    hub.rollouts._venues.of("arcade")._gates = GateWatch(findings)
    opened(hub)
    revision = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST, soak_s=60.0))
    in_state(hub, revision, RolloutState.SOAKING)
    findings.found = [NewFinding(OTHERS[0], "not of the batch")]
    wait_until_scenes(hub, "full-white", "dusk", "dusk")
    findings.found = [NewFinding(CANARY, "it shows 20 of 60 frames a second")]
    view = in_state(hub, revision, RolloutState.REVERTED)
    assert "bay-0001: it shows 20 of 60 frames a second" in (view.reason or "")
    wait_until_scenes(hub, "dusk", "dusk", "dusk")


def test_plan_that_holds_leaves_the_canary_for_a_person_who_reverts_it(hub: HubHalf) -> None:
    opened(hub)
    hub.boards.boards["bay-0002"].refuses_scene = "full-white"
    revision = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST, on_failure="hold"))
    view = in_state(hub, revision, RolloutState.HALTED)
    assert f"1 node keeps revision {revision}" in (view.reason or "")
    hub.wait_until_free()
    assert set(hub.rollouts.ahead("arcade")) == {CANARY}
    with pytest.raises(ConflictError, match=f"stand at revision {revision}"):
        begun(hub, RolloutPlan(scene=None, select=Selection(nodes=(CANARY,))))
    hub.open_again()
    assert set(hub.rollouts.ahead("arcade")) == {CANARY}
    back = hub.rollouts.revert("arcade", revision)
    in_state(hub, back.revision, RolloutState.TAKEN)
    assert in_state(hub, revision, RolloutState.REVERTED).reason is not None
    wait_until_scenes(hub, "dusk", "dusk", "dusk")


def test_take_of_everything_ends_a_rollout_that_was_held(hub: HubHalf) -> None:
    opened(hub)
    revision = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST, soak_s=60.0))
    in_state(hub, revision, RolloutState.SOAKING)
    wait_until_scenes(hub, "full-white", "dusk", "dusk")
    assert hub.rollouts.halt("arcade", revision, by="Invented Warden").state is RolloutState.HALTED
    assert (hub.rollouts.rollout("arcade", revision).reason or "").startswith(
        "halted: Invented Warden halted it; 1 node"
    )
    hub.wait_until_free()
    hub.ended(hub.rollouts.take("arcade", None).revision)
    wait_until_scenes(hub, None, None, None)
    assert hub.rollouts.ahead("arcade") == {}
    with pytest.raises(ConflictError, match="nothing to revert"):
        hub.rollouts.revert("arcade", revision)


def test_paused_rollout_goes_no_further_until_it_is_resumed(hub: HubHalf) -> None:
    opened(hub)
    revision = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST, soak_s=0.3))
    in_state(hub, revision, RolloutState.SOAKING)
    view = hub.rollouts.pause("arcade", revision)
    assert (view.paused, view.waits_for, view.expected_end_at_ms) == (True, "resume", None)
    wait_until_scenes(hub, "full-white", "dusk", "dusk")
    until_s = time.time() + 1.5
    wait_until(lambda: time.time() > until_s, 3.0, "the soak to be long over")
    assert hub.rollouts.rollout("arcade", revision).state is RolloutState.SOAKING
    hub.rollouts.resume("arcade", revision)
    in_state(hub, revision, RolloutState.TAKEN)


def test_staged_batch_waits_for_go(hub: HubHalf) -> None:
    opened(hub)
    revision = begun(hub, RolloutPlan(scene="full-white", wait_for_go=True))
    view = in_state(hub, revision, RolloutState.STAGED)
    assert (view.waits_for, view.nodes_staged) == ("go", 3)
    assert set(shows(hub).values()) == {"dusk"}
    hub.rollouts.go("arcade", revision)
    in_state(hub, revision, RolloutState.TAKEN)
    with pytest.raises(ConflictError):
        hub.rollouts.go("arcade", revision)


def test_take_at_a_time_comes_to_the_moment(hub: HubHalf) -> None:
    opened(hub)
    at_ms = round(time.time() * 1_000) + 2_000
    revision = begun(hub, RolloutPlan(scene="full-white", take_at_ms=at_ms))
    assert in_state(hub, revision, RolloutState.STAGED).waits_for == "its take time"
    assert in_state(hub, revision, RolloutState.TAKEN).take_at_ms == at_ms
    with pytest.raises(InvalidError):
        begun(hub, RolloutPlan(scene="full-white", take_at_ms=at_ms - 60_000))


def test_second_rollout_is_refused_or_waits_for_its_turn(hub: HubHalf) -> None:
    opened(hub)
    first = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST, soak_s=0.5))
    with pytest.raises(ConflictError, match=f"revision {first} "):
        begun(hub, RolloutPlan(scene=None))
    view = hub.rollouts.plan("arcade", RolloutPlan(scene=None, queue=True), None)
    assert (view.state, view.waits_for) == (RolloutState.PLANNED, "its turn")
    in_state(hub, first, RolloutState.TAKEN)
    in_state(hub, view.revision, RolloutState.TAKEN)
    wait_until_scenes(hub, None, None, None)


def test_failures_within_the_plan_are_left_out_and_follow_when_they_can(hub: HubHalf) -> None:
    opened(hub)
    hub.boards.boards["bay-0002"].deaf = True
    revision = begun(hub, RolloutPlan(scene="full-white", failures_share=0.4))
    view = in_state(hub, revision, RolloutState.TAKEN)
    assert [refusal.node for refusal in view.refusals] == ["bay-0002"]
    hub.boards.boards["bay-0002"].deaf = False
    hub.wait_until_shown(revision)


def test_late_node_joins_its_batch(hub: HubHalf) -> None:
    before = opened(hub)
    hub.boards.switch(CANARY, on=False)
    hub.boards.switch("bay-0003", on=False)
    plan = RolloutPlan(scene="full-white", batches=(BatchSize(nodes=2),), soak_s=60.0)
    revision = begun(hub, plan)
    in_state(hub, revision, RolloutState.SOAKING)
    hub.boards.switch(CANARY, on=True)
    hub.boards.switch("bay-0003", on=True)
    hub.wait_until_shown(revision, CANARY)
    assert hub.boards.boards["bay-0003"].shown == [before]


def _with(hub: HubHalf, **facts: object) -> None:
    document = json.loads(hub.inventory.venue("arcade").model_dump_json())
    hub.inventory.venues["arcade"] = Venue.model_validate_json(json.dumps(document | facts))
    hub.rollouts.venue_changed("arcade")


def test_second_person_approves_and_others_may_take_in_the_meantime(hub: HubHalf) -> None:
    revision = opened(hub)
    _with(hub, approves_rollouts=True)
    wait_until(lambda: hub.rollouts.page("arcade", None, 1)[0].revision > revision, 5.0, "the change")
    hub.ended()
    hub.wait_until_free()
    planned = hub.rollouts.plan("arcade", RolloutPlan(scene=None), "Invented Warden")
    assert (planned.state, planned.waits_for) == (RolloutState.PLANNED, "approval")
    hub.ended(hub.rollouts.take("arcade", "full-white").revision)
    hub.wait_until_free()
    with pytest.raises(ConflictError, match="second person"):
        hub.rollouts.approve("arcade", planned.revision, "invented warden")
    hub.open_again()
    assert hub.rollouts.approve("arcade", planned.revision, "Made-up Keeper").approved_by == "Made-up Keeper"
    view = in_state(hub, planned.revision, RolloutState.TAKEN)
    assert view.revision > planned.revision
    assert (view.planned_as, view.requested_by) == (planned.revision, "Invented Warden")
    wait_until_scenes(hub, None, None, None)


def test_withdrawn_plan_never_begins(hub: HubHalf) -> None:
    opened(hub)
    first = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST, soak_s=0.5))
    waiting = begun(hub, RolloutPlan(scene=None, queue=True))
    assert hub.rollouts.halt("arcade", waiting).state is RolloutState.HALTED
    in_state(hub, first, RolloutState.TAKEN)
    hub.wait_until_free()
    assert set(shows(hub).values()) == {"full-white"}


def test_what_must_show_at_once_halts_the_rest_and_leaves_out_who_does_not_answer(hub: HubHalf) -> None:
    opened(hub)
    revision = begun(hub, RolloutPlan(scene="full-white", batches=ONE_FIRST, soak_s=60.0))
    in_state(hub, revision, RolloutState.SOAKING)
    hub.boards.boards["bay-0003"].deaf = True
    asked_s = time.time()
    black = hub.rollouts.at_once("arcade", None, 0)
    view = in_state(hub, black.revision, RolloutState.TAKEN)
    assert (view.take_at_ms or 0) / 1_000 - asked_s < 2.5
    assert hub.rollouts.rollout("arcade", revision).state is RolloutState.HALTED
    hub.wait_until_shown(black.revision, CANARY, "bay-0002")
    hub.boards.boards["bay-0003"].deaf = False
    hub.wait_until_shown(black.revision)


def test_what_must_show_at_once_overtakes_a_take_that_is_decided(hub: HubHalf) -> None:
    opened(hub)
    taken = hub.rollouts.take("arcade", "full-white")
    in_state(hub, taken.revision, RolloutState.TAKEN)
    black = hub.rollouts.at_once("arcade", None, 0)
    in_state(hub, black.revision, RolloutState.TAKEN)
    wait_until_scenes(hub, None, None, None)


def test_selection_of_no_node_is_refused(hub: HubHalf) -> None:
    opened(hub)
    with pytest.raises(InvalidError):
        begun(hub, RolloutPlan(scene=None, select=Selection(tags=("upstairs",))))
