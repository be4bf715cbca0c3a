"""Planned rollouts by call, against a whole running hub: selection, approval by a second person, conduct, dry runs."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import httpx
import pytest

from tests.conftest import NODES, VENUE
from tests.hub.live_hub import LiveHub, open_live_hub
from tests.processes import wait_until

WHITE = {"scene": "full-white", "fade_ms": 0}
DUSK = {"scene": "dusk", "fade_ms": 0}


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


@pytest.fixture(autouse=True)
def _dusk_everywhere(live: LiveHub) -> None:
    live.boards[1].board.refuses_scene = None
    live.wait_until_free()
    in_force = live.hub.rollouts.in_force(VENUE)
    assert in_force is not None
    if in_force.prepared.scene != "dusk" or in_force.prepared.choices.apart:
        live.outcome(live.call("POST", "/takes", json=DUSK).json()["revision"])
        live.wait_until_free()


def plan(live: LiveHub, body: dict[str, Any], token: str | None = None) -> httpx.Response:
    return ask(live, "/rollouts", token, json=body)


def ask(live: LiveHub, path: str, token: str | None = None, **options: Any) -> httpx.Response:  # noqa: ANN401 (httpx's)
    headers = {"Authorization": f"Bearer {token or live.token}"}
    return live.call("POST", path, headers=headers, **options)


def state(live: LiveHub, revision: int) -> str:
    return str(live.call("GET", f"/rollouts/{revision}").json()["state"])


def reaches(live: LiveHub, revision: int, *states: str) -> None:
    wait_until(lambda: state(live, revision) in states, 15, f"revision {revision} to be {' or '.join(states)}")


@contextmanager
def approvals(live: LiveHub) -> Iterator[None]:
    def ask_for(wanted: bool) -> None:
        live.hub.inventory.change(VENUE, lambda venue: venue.model_copy(update={"approves_rollouts": wanted}))

        def rolled_out() -> bool:
            in_force = live.hub.rollouts.in_force(VENUE)
            return in_force is not None and in_force.prepared.venue.approves_rollouts is wanted

        # A change of the venue is rolled out a moment later, by itself.
        wait_until(rolled_out, 15, "the venue's change to be in force")
        live.wait_until_free()

    ask_for(True)
    try:
        yield
    finally:
        ask_for(False)


def test_selected_node_takes_the_scene_and_the_other_keeps_its_own(live: LiveHub) -> None:
    answer = plan(live, WHITE | {"select": {"nodes": [NODES[1]]}})
    assert answer.status_code == 202, answer.text
    reaches(live, answer.json()["revision"], "taken")
    choices = live.hub.rollouts.choices(VENUE)
    assert choices is not None
    assert [choices.of(node).scene for node in NODES] == ["dusk", "full-white"]


@pytest.mark.parametrize(
    ("change", "field", "remedy"),
    [
        ({"select": {"nodes": ["bay-9"]}}, "body.select.nodes[0]", "did you mean"),
        ({"select": {"tags": ["upstairs"]}}, "body.select.tags[0]", "no tags yet"),
        ({"batches": [{"nodes": 1, "share": 0.5}]}, "body.batches[0]", ""),
        ({"quorum_share": 1.5}, "body.quorum_share", ""),
        ({"take_at_ms": 1_000}, "body.take_at_ms", "to come"),
    ],
)
def test_bad_plan_names_its_field_and_begins_nothing(
    live: LiveHub, change: dict[str, Any], field: str, remedy: str
) -> None:
    before = live.call("GET", "/rollouts").json()["items"][0]
    answer = plan(live, WHITE | change)
    assert answer.status_code == 422
    (mistake,) = answer.json()["mistakes"]
    assert mistake["field"] == field
    assert remedy in mistake["remedy"]
    assert live.call("GET", "/rollouts").json()["items"][0] == before


def test_second_person_approves_and_neither_the_first_nor_a_stranger(live: LiveHub) -> None:
    first, second = live.hub.tokens.make("R. Vale"), live.hub.tokens.make("T. Moor")
    with approvals(live):
        answer = plan(live, WHITE)
        assert (answer.status_code, "token new --name" in answer.json()["detail"]) == (403, True)
        planned = plan(live, WHITE, first).json()
        assert (planned["state"], planned["waits_for"], planned["requested_by"]) == ("planned", "approval", "R. Vale")
        path = f"/rollouts/{planned['revision']}/approve"
        assert ask(live, path).status_code == 403
        assert ask(live, path, first).status_code == 409
        assert ask(live, path, live.hub.tokens.make("r. vale")).status_code == 409
        approved = ask(live, path, second)
        assert (approved.status_code, approved.json()["approved_by"]) == (202, "T. Moor")
        reaches(live, planned["revision"], "taken")
        assert ask(live, path, second).status_code == 409
        assert live.call("POST", "/takes", json=DUSK).status_code == 202  # a take is for the person on the spot
        live.wait_until_free()


def test_batches_wait_for_go_and_can_be_paused_resumed_and_reverted(live: LiveHub) -> None:
    token = live.hub.tokens.make("R. Vale")
    answer = plan(live, WHITE | {"batches": [{"nodes": 1}], "wait_for_go": True}, token)
    assert answer.status_code == 202, answer.text
    revision = answer.json()["revision"]
    reaches(live, revision, "staged")
    assert ask(live, f"/rollouts/{revision}/pause").json()["paused"] is True
    assert ask(live, f"/rollouts/{revision}/resume").json()["waits_for"] == "go"
    assert ask(live, f"/rollouts/{revision}/go").status_code == 202
    wait_until(lambda: live.boards[0].board.showing_scene == "full-white", 10, "the first batch")
    assert live.boards[1].board.showing_scene == "dusk"
    reverted = ask(live, f"/rollouts/{revision}/revert", token)
    assert reverted.status_code == 202
    assert (reverted.json()["reverts"], reverted.json()["scene"]) == (revision, "dusk")
    live.wait_until_free()
    assert [board.board.showing_scene for board in live.boards] == ["dusk", "dusk"]
    told = live.call("GET", f"/rollouts/{revision}").json()
    assert told["state"] == "reverted"
    assert "R. Vale reverted it" in told["reason"]
    assert "the other 1 never changed" in told["reason"]


def test_rollout_that_is_halted_says_by_whom(live: LiveHub) -> None:
    revision = plan(live, WHITE | {"wait_for_go": True}).json()["revision"]
    reaches(live, revision, "staged")
    halted = ask(live, f"/rollouts/{revision}/halt", live.hub.tokens.make("T. Moor")).json()
    assert halted["state"] == "halted"
    assert "T. Moor" in halted["reason"]
    for step in ("pause", "go", "halt", "approve"):
        assert ask(live, f"/rollouts/{revision}/{step}", live.hub.tokens.make("R. Vale")).status_code == 409


def test_dry_run_tells_what_would_differ_and_changes_nothing(live: LiveHub) -> None:
    before = live.call("GET", "/rollouts").json()["items"][0]
    body = WHITE | {"select": {"nodes": [NODES[1]]}, "quorum_share": 1.0}
    answer = ask(live, "/rollouts/dry-run", json=body)
    assert answer.status_code == 200, answer.text
    told = answer.json()
    assert told["said"][0] == "scene full-white on 1 of 2 nodes, in one batch"
    assert told["batches"] == [{"nodes": 1, "online": 1}]
    assert (told["quorum_met"], told["nodes_unchanged"], told["leaving"]) == (True, 1, [])
    (node,) = told["nodes"]
    assert (node["node"], node["batch"], node["showing"]) == (NODES[1], 1, "scene dusk -> scene full-white")
    assert (node["wiring"], node["budgets"], node["scenes"], node["timetable"]) == ([], [], [], [])
    assert live.call("GET", "/rollouts").json()["items"][0] == before


def test_dry_run_counts_nodes_that_are_off_and_what_is_under_way(live: LiveHub) -> None:
    revision = plan(live, WHITE | {"wait_for_go": True}).json()["revision"]
    reaches(live, revision, "staged")
    board = live.boards[1]
    board.__exit__(None, None, None)
    try:
        wait_until(lambda: not live.hub.node_views.states(VENUE)[1].online, 10, "the board to be off")
        told = ask(live, "/rollouts/dry-run", json=WHITE | {"batches": [{"share": 0.5}], "quorum_share": 1.0}).json()
    finally:
        board.__enter__()
        ask(live, f"/rollouts/{revision}/halt")
    assert [one["online"] for one in told["batches"]] == [1, 0]
    assert told["quorum_met"] is False
    assert "1 of them is off" in told["said"][0]
    assert "would not start: 1 of 2 are online, and 100% must be" in told["said"][1]
    assert f"Revision {revision} is under way: it would be refused" in told["said"][2]


@pytest.mark.parametrize("step", ["approve", "pause", "resume", "halt", "revert", "go"])
def test_step_of_a_rollout_that_never_was_is_not_found(live: LiveHub, step: str) -> None:
    assert ask(live, f"/rollouts/999999/{step}", live.hub.tokens.make("R. Vale")).status_code == 404
