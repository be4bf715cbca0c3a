"""An evening by hand against a whole running hub: cues, go, back, blackout, work light, the timetable again."""

import time
from collections.abc import Iterator
from typing import Any

import pytest

from hub.desired.work_light import WORK_LIGHT
from hub.rollout.models import RolloutState
from tests.conftest import NODES, VENUE
from tests.hub.live_hub import LiveHub, open_live_hub
from tests.processes import wait_until

EVENING = {
    "id": "evening",
    "title": "Evening",
    "cues": [
        {"id": "doors", "scene": "dusk", "fade_ms": 0, "follow_on_s": 2.5},
        {"id": "welcome", "scene": "full-white", "fade_ms": 0},
        {"id": "dark", "scene": None, "fade_ms": 0},
    ],
}
LATE = {"id": "late", "title": "Late", "cues": [{"id": "only", "scene": "dusk", "fade_ms": 0}]}


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        for cue_list in (EVENING, LATE):
            answer = opened.call("PUT", f"/cue-lists/{cue_list['id']}", json=cue_list, headers={"If-None-Match": "*"})
            assert answer.status_code == 201, answer.text
        for scene in ("dusk", "full-white"):
            assert opened.call("GET", f"/scenes/{scene}/flash").status_code == 200
        yield opened


@pytest.fixture(autouse=True)
def _nothing_in_hand(live: LiveHub) -> Iterator[None]:
    live.wait_until_free()
    yield
    for board in live.boards:
        board.board.refuses_scene, board.board.deaf = None, False
    for one in in_hand(live):
        assert live.call("POST", f"/cue-lists/{one['cue_list']['id']}/stop").status_code == 200


def press(live: LiveHub, control: str) -> dict[str, Any]:
    """Press it, and wait until what it took is in force."""
    answer = live.call("POST", f"/controls/{control}")
    assert answer.status_code == 202, answer.text
    told: dict[str, Any] = answer.json()
    rollout = live.outcome(told["rollout"]["revision"])
    assert rollout["state"] == "taken", rollout
    return told


def lists(live: LiveHub) -> list[dict[str, Any]]:
    answer = live.call("GET", "/cue-lists")
    assert answer.status_code == 200
    items: list[dict[str, Any]] = answer.json()["items"]
    return items


def in_hand(live: LiveHub) -> list[dict[str, Any]]:
    return [one for one in lists(live) if one["in_hand"]]


def scene_in_force(live: LiveHub) -> str | None:
    in_force = live.hub.rollouts.in_force(VENUE)
    assert in_force is not None
    return in_force.prepared.scene


def test_go_takes_the_first_list_in_hand_and_its_first_cue(live: LiveHub) -> None:
    assert in_hand(live) == []
    told = press(live, "go")
    assert told["said"] == (
        "cue list 'evening': cue 'doors' (scene dusk); "
        "cue 'welcome' (scene full-white) follows by itself 2.5 s later; then go takes cue 'dark' (darkness)"
    )
    (hand,) = in_hand(live)
    assert (hand["cue_list"]["id"], hand["on"], hand["next"]) == ("evening", 0, 1)
    assert "cue 'welcome' (scene full-white) follows by itself at " in hand["said"]


def test_cue_that_follows_by_itself_is_with_the_boards_and_the_list_moves_on(live: LiveHub) -> None:
    press(live, "go")
    (hand,) = in_hand(live)
    in_force = live.hub.rollouts.in_force(VENUE)
    assert in_force is not None
    for compiled in in_force.prepared.documents.values():
        (take,) = compiled.body.timetable
        assert (take.at_ms, take.scene, take.fade_ms) == (hand["follows_at_ms"], "full-white", 0)
    # Counted from the light, as near as a time can be that is settled before the take is.
    assert abs(take.at_ms - in_force.take.at_ms - 2_500) < 1_500
    moved = wait_until(lambda: [one for one in in_hand(live) if one["on"] == 1], 10, "the cue to follow")
    assert moved[0]["follows_at_ms"] is None
    assert time.time() * 1_000 >= hand["follows_at_ms"]
    assert press(live, "go")["said"].startswith("cue list 'evening': cue 'dark' (darkness); it is the last one")
    answer = live.call("POST", "/controls/go")
    assert (answer.status_code, "at its end" in answer.json()["detail"]) == (409, True)


def test_back_takes_the_cue_before_and_undoes_what_came_in_between(live: LiveHub) -> None:
    assert live.call("POST", "/cue-lists/evening/start", params={"cue": "welcome"}).status_code == 200
    press(live, "go")
    press(live, "go")
    assert scene_in_force(live) is None
    assert "cue 'welcome'" in press(live, "back")["said"]
    press(live, "work-light")
    (hand,) = in_hand(live)
    assert (hand["left"], hand["on"]) == (True, 1)
    assert "cue 'welcome'" in press(live, "back")["said"]
    assert in_hand(live)[0]["left"] is False
    assert "cue 'doors'" in press(live, "back")["said"]


def test_back_before_the_first_cue_is_what_was_taken_before_the_list(live: LiveHub) -> None:
    revision = live.call("POST", "/takes", json={"scene": "full-white", "fade_ms": 0}).json()["revision"]
    assert live.outcome(revision)["state"] == "taken"
    press(live, "go")
    assert "back to scene full-white" in press(live, "back")["said"]
    (hand,) = in_hand(live)
    assert (hand["on"], hand["next"]) == (None, 0)


def test_blackout_and_work_light_hold_and_caution(live: LiveHub) -> None:
    told = press(live, "blackout")
    assert told["said"] == "blackout: every pixel goes dark; it holds until something else is taken"
    assert "stairs" in told["caution"]
    assert (told["rollout"]["scene"], told["rollout"]["fade_ms"]) == (None, 0)
    told = press(live, "work-light")
    assert "budget" in told["said"]
    assert "emergency lighting" in told["caution"]
    assert scene_in_force(live) == WORK_LIGHT
    assert "back to darkness" in press(live, "back")["said"]


def test_list_is_left_when_a_planned_rollout_takes_its_place(live: LiveHub) -> None:
    press(live, "go")
    wait_until(lambda: in_hand(live)[0]["on"] == 1, 10, "the cue that follows")
    revision = live.call("POST", "/rollouts", json={"scene": None, "fade_ms": 0}).json()["revision"]
    assert live.outcome(revision)["state"] == "taken"
    (hand,) = in_hand(live)
    assert (hand["left"], hand["on"], hand["follows_at_ms"]) == (True, 1, None)
    assert "cue 'welcome'" in press(live, "back")["said"]


def test_nothing_of_a_list_follows_a_blackout(live: LiveHub) -> None:
    press(live, "go")
    press(live, "blackout")
    (hand,) = in_hand(live)
    assert (hand["left"], hand["follows_at_ms"]) == (True, None)
    in_force = live.hub.rollouts.in_force(VENUE)
    assert in_force is not None
    assert in_force.prepared.choices.timetable == ()


def test_list_that_is_put_down_leaves_its_light_and_withdraws_what_would_follow(live: LiveHub) -> None:
    press(live, "go")
    answer = live.call("POST", "/cue-lists/evening/stop")
    assert answer.status_code == 200
    assert answer.json()["in_hand"] is False
    live.wait_until_free()
    in_force = live.hub.rollouts.in_force(VENUE)
    assert in_force is not None
    assert (in_force.prepared.scene, in_force.prepared.choices.timetable) == ("dusk", ())
    assert live.call("POST", "/cue-lists/evening/stop").status_code == 409


def test_one_list_is_in_hand_and_starts_where_it_is_told_to(live: LiveHub) -> None:
    live.call("POST", "/cue-lists/evening/start")
    started = live.call("POST", "/cue-lists/late/start").json()
    assert [one["cue_list"]["id"] for one in in_hand(live)] == ["late"]
    assert started["said"] == "cue list 'late' is in hand; go takes cue 'only' (scene dusk)"
    for path in ("/cue-lists/none/start", "/cue-lists/late/start?cue=none", "/cue-lists/none/stop"):
        assert live.call("POST", path).status_code == 404


def test_list_that_is_written_anew_goes_on_by_the_ids_of_its_cues(live: LiveHub) -> None:
    live.call("POST", "/cue-lists/evening/start", params={"cue": "welcome"})
    press(live, "go")
    answer = live.call("GET", "/cue-lists/evening")
    overture = {"id": "overture", "scene": "dusk", "fade_ms": 0}
    written = EVENING | {"cues": [overture, *EVENING["cues"]]}
    headers = {"If-Match": answer.headers["ETag"]}
    assert live.call("PUT", "/cue-lists/evening", json=written, headers=headers).status_code == 200
    try:
        (hand,) = in_hand(live)
        assert (hand["on"], hand["next"]) == (2, 3)
        live.wait_until_free()
        assert "cue 'dark'" in press(live, "go")["said"]
    finally:
        live.call("PUT", "/cue-lists/evening", json=EVENING, headers={"If-Match": "*"})


def test_board_that_does_not_answer_holds_up_no_blackout(live: LiveHub) -> None:
    press(live, "work-light")
    live.boards[1].board.deaf = True
    pressed_s = time.time()
    told = press(live, "blackout")
    rollout = live.call("GET", f"/rollouts/{told['rollout']['revision']}").json()
    assert rollout["take_at_ms"] / 1_000 - pressed_s < 3.0
    assert [one["node"] for one in rollout["refusals"]] == [NODES[1]]


def test_blackout_halts_what_is_under_way(live: LiveHub) -> None:
    live.boards[0].board.deaf = True
    revision = live.call("POST", "/takes", json={"scene": "full-white", "fade_ms": 0}).json()["revision"]
    assert live.call("GET", f"/rollouts/{revision}").json()["state"] == "staging"
    press(live, "blackout")
    assert live.hub.rollouts.rollout(VENUE, revision).state is RolloutState.HALTED
    assert scene_in_force(live) is None


def test_following_the_timetable_needs_one_that_has_something_on(live: LiveHub) -> None:
    answer = live.call("POST", "/controls/follow-timetable")
    assert (answer.status_code, "timetable" in answer.json()["detail"]) == (409, True)
    headers = {"If-Match": live.call("GET", "/timetable").headers["ETag"]}
    day = {"id": "day", "scene": "full-white", "begins": "00:00", "ends": "00:00", "fade_ms": 0}
    assert live.call("PUT", "/timetable", json={"entries": [day]}, headers=headers).status_code == 200
    try:
        wait_until(lambda: live.hub.rollouts.choices(VENUE).timetable, 15, "the timetable to reach the boards")  # type: ignore[union-attr]
        live.wait_until_free()
        told = press(live, "blackout")
        assert "it holds until 00:00:00, when the timetable takes scene full-white" in told["said"]
        assert "the timetable's own again" in press(live, "follow-timetable")["said"]
    finally:
        headers = {"If-Match": live.call("GET", "/timetable").headers["ETag"]}
        assert live.call("PUT", "/timetable", json={"entries": []}, headers=headers).status_code == 200


@pytest.mark.parametrize("control", ["go", "back", "blackout", "work-light", "follow-timetable"])
def test_controls_of_a_venue_that_is_not_there(live: LiveHub, control: str) -> None:
    with live.client() as client:
        assert client.post(f"/api/v1/venues/nowhere/controls/{control}").status_code == 404
