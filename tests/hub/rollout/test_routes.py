from collections.abc import Iterator

import pytest

from tests.conftest import NODES
from tests.hub.live_hub import LiveHub, open_live_hub


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


@pytest.fixture(autouse=True)
def _free(live: LiveHub) -> None:
    live.wait_until_free()
    live.boards[1].board.refuses_scene = None


def _take(live: LiveHub, scene: str | None, fade_ms: int = 0) -> int:
    answer = live.call("POST", "/takes", json={"scene": scene, "fade_ms": fade_ms})
    assert answer.status_code == 202, answer.text
    assert answer.json()["state"] == "staging"
    return int(answer.json()["revision"])


def test_take_is_accepted_and_its_outcome_found_under_its_revision(live: LiveHub) -> None:
    rollout = live.outcome(_take(live, "full-white", 250))
    assert rollout["take_at_ms"] > rollout["started_at_ms"]
    assert {key: rollout[key] for key in ("scene", "state", "fade_ms", "nodes_expected", "nodes_staged", "reason")} == {
        "scene": "full-white", "state": "taken", "fade_ms": 250, "nodes_expected": 2, "nodes_staged": 2, "reason": None,
    }  # fmt: skip


def test_refused_take_tells_node_field_reason_and_remedy(live: LiveHub) -> None:
    live.boards[1].board.refuses_scene = "dusk"
    rollout = live.outcome(_take(live, "dusk"))
    assert rollout["state"] == "halted"
    assert rollout["refusals"] == [
        {"node": NODES[1], "field": "body.showing", "reason": "not this one", "remedy": "another scene"}
    ]


def test_rollouts_are_listed_newest_first_in_pages(live: LiveHub) -> None:
    for scene in ("full-white", None, "dusk"):
        live.outcome(_take(live, scene))
        live.wait_until_free()
    everything = [one["revision"] for one in live.call("GET", "/rollouts").json()["items"]]
    assert everything == sorted(everything, reverse=True)
    seen: list[int] = []
    page = live.call("GET", "/rollouts", params={"limit": 2}).json()
    while True:
        seen += [one["revision"] for one in page["items"]]
        if page["next"] is None:
            break
        page = live.call("GET", "/rollouts", params={"limit": 2, "cursor": page["next"]}).json()
    assert seen == everything


def test_going_back_takes_the_one_before(live: LiveHub) -> None:
    for scene in ("dusk", "full-white"):
        live.outcome(_take(live, scene))
        live.wait_until_free()
    answer = live.call("POST", "/rollouts/back")
    assert answer.status_code == 202
    assert live.outcome(answer.json()["revision"])["scene"] == "dusk"


def test_second_take_while_one_runs_is_a_conflict(live: LiveHub) -> None:
    live.boards[0].board.deaf = True
    try:
        revision = _take(live, "full-white")
        answer = live.call("POST", "/takes", json={"scene": "dusk"})
    finally:
        live.boards[0].board.deaf = False
    assert answer.status_code == 409
    assert f"revision {revision}" in answer.json()["detail"]
    live.outcome(revision)


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({}, "body.scene"),
        ({"scene": "Not An Id"}, "body.scene"),
        ({"scene": "dusk", "fade_ms": -1}, "body.fade_ms"),
        ({"scene": "dusk", "fade_ms": 10**9}, "body.fade_ms"),
        ({"scene": "dusk", "fade_ms": "500"}, "body.fade_ms"),
        ({"scene": "dusk", "fade": 1}, "body.fade"),
        (["dusk"], "body"),
    ],
)
def test_bad_take_names_the_field_and_changes_nothing(live: LiveHub, body: object, field: str) -> None:
    before = live.call("GET", "/rollouts").json()["items"][0]
    answer = live.call("POST", "/takes", json=body)
    assert answer.status_code == 422
    assert [mistake["field"] for mistake in answer.json()["mistakes"]] == [field]
    assert live.call("GET", "/rollouts").json()["items"][0] == before


@pytest.mark.parametrize("path", ["/rollouts/999999", "/rollouts/0", "/rollouts/x", "/rollouts?cursor=eHh4"])
def test_bad_revision_or_cursor_is_refused(live: LiveHub, path: str) -> None:
    assert live.call("GET", path).status_code in (404, 422)


def test_unknown_scene_and_venue_are_not_found(live: LiveHub) -> None:
    assert live.call("POST", "/takes", json={"scene": "noon"}).status_code == 404
    with live.client() as client:
        assert client.get("/api/v1/venues/nowhere/rollouts").status_code == 404
        assert client.post("/api/v1/venues/nowhere/rollouts/back").status_code == 404
