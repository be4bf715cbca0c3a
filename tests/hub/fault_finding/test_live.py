"""Searches against a whole running hub with boards that answer: what is asked, shown, kept and refused."""

import threading
from collections.abc import Iterator
from typing import Any

import pytest

from hub.fault_finding.symptom import Symptom
from tests.conftest import NODES, VENUE
from tests.hub.live_hub import LiveHub, open_live_hub
from tests.processes import wait_until

NODE = NODES[0]


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


@pytest.fixture(autouse=True)
def _boards_answer(live: LiveHub) -> Iterator[None]:
    yield
    for board in live.boards:
        board.declines = None
        board.shown.clear()


def begin(live: LiveHub, **wanted: Any) -> dict[str, Any]:  # noqa: ANN401 (any field)
    answer = live.call("POST", "/fault-findings", json={"node": NODE} | wanted)
    assert answer.status_code == 201, answer.text
    search: dict[str, Any] = answer.json()
    return search


def post(live: LiveHub, search: dict[str, Any], step: str, body: object = None, status: int = 200) -> dict[str, Any]:
    answer = live.call("POST", f"/fault-findings/{search['id']}/{step}", json=body)
    assert answer.status_code == status, answer.text
    told: dict[str, Any] = answer.json()
    return told


def answer(live: LiveHub, search: dict[str, Any], given: str, note: str | None = None) -> dict[str, Any]:
    standing = search["question"] or search["diagnosis"]
    return post(live, search, "answers", {"step": standing["step"], "answer": given, "note": note})


def read(live: LiveHub, search: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = live.call("GET", f"/fault-findings/{search['id']}").json()
    return found


def test_search_from_what_is_seen_to_what_to_carry_and_its_end(live: LiveHub) -> None:
    search = begin(live)
    assert {one["answer"] for one in search["question"]["choices"]} == set(Symptom)
    search = answer(live, search, "cut-off")
    assert [one["answer"] for one in search["question"]["choices"]] == ["1", "2"]
    search = answer(live, search, "2")
    assert (search["channel"], search["symptom"], search["state"]) == (2, "cut-off", "asking")
    (shown,) = live.boards[0].shown
    assert (shown.channel, shown.pattern, shown.seconds) == (2, "every-tenth", 120.0)
    pattern = search["question"]["pattern"]
    assert pattern["not_shown"] is None
    assert pattern["ends_at_ms"] - pattern["shown_at_ms"] == 120_000
    assert any("Fed at pixel 0 from supply psu-bay-01" in fact for fact in search["facts"])
    search = answer(live, search, "part", "the last one is pixel 40")
    search = answer(live, search, "dark")
    assert any("arcs and burns" in caution for caution in search["question"]["cautions"])
    search = answer(live, search, "cut")
    assert (search["state"], search["title"]) == ("diagnosed", search["diagnosis"]["title"])
    assert "0.75 mm²" in str(search["diagnosis"]["carry"])
    assert search["steps"][3] | {"at_ms": 0} == {
        "step": "cut-off-tens",
        "question": "How far does it light? Every tenth pixel should, up to the far end of 75.",
        "answer": "part",
        "words": "Up to some pixel, nothing right after it",
        "note": "the last one is pixel 40",
        "at_ms": 0,
        "by": None,
        "hub": False,
        "taken_back": False,
    }
    search = answer(live, search, "not-it")
    assert search["diagnosis"]["step"] == "rail-broken"
    search = post(live, search, "end", {"mended": True, "note": "a joint at pixel 41"})
    assert (search["state"], search["mended"], search["note"]) == ("ended", True, "a joint at pixel 41")
    assert (search["facts"], search["question"], search["diagnosis"]["step"]) == ([], None, "rail-broken")


def test_answer_is_of_the_person_whose_token_it_is(live: LiveHub) -> None:
    search = begin(live, channel=1, symptom="one-pixel")
    with live.client() as client:
        client.headers["Authorization"] = f"Bearer {live.hub.tokens.make('Ada')}"
        path = f"{live.venue_path}/fault-findings/{search['id']}"
        body = {"step": "one-thirds", "answer": "dark"}
        search = client.post(f"{path}/answers", json=body).json()
        assert client.post(f"{path}/end", json={}).json()["ended_by"] == "Ada"
    assert [(one["hub"], one["by"]) for one in search["steps"]] == [(True, None), (False, "Ada")]


def test_answer_is_taken_back_and_stays_on_record(live: LiveHub) -> None:
    search = answer(live, begin(live, channel=1, symptom="one-pixel"), "dark")
    assert search["state"] == "diagnosed"
    search = post(live, search, "back")
    assert (search["state"], search["question"]["step"], search["diagnosis"]) == ("asking", "one-thirds", None)
    assert [one["taken_back"] for one in search["steps"]] == [False, True]
    assert len(live.boards[0].shown) == 2  # its pattern is shown again
    post(live, search, "back", status=409)


def test_board_that_declines_is_no_end_of_the_search(live: LiveHub) -> None:
    live.boards[0].declines = "no run on channel 1"
    search = begin(live, channel=1, symptom="one-pixel")
    pattern = search["question"]["pattern"]
    assert (pattern["shown_at_ms"], pattern["not_shown"]) == (None, f"{NODE} declines: no run on channel 1")
    assert post(live, search, "pattern", status=409)["detail"] == f"{NODE} declines: no run on channel 1"
    live.boards[0].declines = None
    assert post(live, search, "pattern")["question"]["pattern"]["not_shown"] is None


@pytest.mark.parametrize(
    ("body", "status", "says"),
    [
        ({"node": "nowhere"}, 404, "there is no node 'nowhere'"),
        ({"node": NODE, "channel": 3}, 404, "there is no channel 'bay-01/3'"),
        ({"node": NODE, "channel": 9}, 422, "body.channel"),
        ({"node": NODE, "symptom": "haunted"}, 422, "body.symptom"),
        ({}, 422, "body.node"),
    ],
)
def test_search_for_what_is_not_there_is_refused(live: LiveHub, body: dict[str, Any], status: int, says: str) -> None:
    answer = live.call("POST", "/fault-findings", json=body)
    assert (answer.status_code, says in answer.text) == (status, True), answer.text


def test_wrong_answers_change_nothing(live: LiveHub) -> None:
    search = begin(live, channel=1, symptom="one-pixel")
    for body, status, says in (
        ({"step": "one-stays-lit", "answer": "yes"}, 409, "step 'one-thirds' stands by now"),
        ({"step": "one-thirds", "answer": "purple"}, 422, "choose of: dark, colour, after, right"),
        ({"step": "one-thirds", "answer": "dark", "note": "x" * 401}, 422, "body.note"),
        ({"step": "one-thirds"}, 422, "body.answer"),
    ):
        assert says in str(post(live, search, "answers", body, status))
    steady = ("steps", "state", "question")
    assert {key: read(live, search)[key] for key in steady} == {key: search[key] for key in steady}
    assert live.call("GET", "/fault-findings/999999999").status_code == 404
    assert live.call("GET", "/fault-findings/0").status_code == 422
    assert live.call("GET", "/fault-findings", params={"cursor": "eA"}).status_code == 422
    with live.client() as client:
        assert client.get("/api/v1/venues/nowhere/fault-findings").status_code == 404
    answer(live, search, "dark")
    post(live, search, "end", {})
    not_it = {"step": "pixel-dead", "answer": "not-it"}
    for told in (post(live, search, "answers", not_it, 409), post(live, search, "back", status=409)):
        assert "has ended" in told["detail"]
    assert "has ended" in post(live, search, "end", {}, 409)["detail"]


def test_of_two_answers_at_once_one_counts(live: LiveHub) -> None:
    search = begin(live, channel=1, symptom="one-pixel")
    path, codes = f"/fault-findings/{search['id']}/answers", []
    start = threading.Barrier(4)

    def press() -> None:
        start.wait(10)
        codes.append(live.call("POST", path, json={"step": "one-thirds", "answer": "dark"}).status_code)

    threads = [threading.Thread(target=press) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert sorted(codes) == [200, 409, 409, 409]
    assert [one["answer"] for one in read(live, search)["steps"]] == ["yes", "dark"]


def test_node_that_leaves_the_venue_leaves_a_search_that_can_be_read_and_ended(live: LiveHub) -> None:
    venue = live.hub.inventory.venue(VENUE)
    board = live.boards[1]
    search = begin(live, node=NODES[1], symptom="board-silent")
    assert search["diagnosis"]["step"] == "board-comes-and-goes"  # it is heard
    search = begin(live, node=NODES[1], channel=1, symptom="one-pixel")
    assert board.shown
    fewer = venue.model_copy(update={"nodes": venue.nodes[:1], "zones": (), "scenes": (), "opening_scene": None})
    live.hub.inventory.load(fewer)
    found = read(live, search)
    assert found["stuck"] == f"{NODES[1]} or its run is no longer in the venue; end this search"
    assert (found["question"], found["facts"], len(found["steps"])) == (None, [], 1)
    post(live, search, "answers", {"step": "one-thirds", "answer": "dark"}, 404)
    assert post(live, search, "end", {})["state"] == "ended"
    live.hub.inventory.load(venue)
    wait_until(lambda: live.hub.rollouts.idle(VENUE), 20, "the venue as it was")


def test_list_has_the_newest_first_by_pages_and_by_node(live: LiveHub) -> None:
    first = begin(live, channel=1, symptom="one-pixel")
    second = begin(live, channel=2, symptom="one-pixel")
    page = live.call("GET", "/fault-findings", params={"limit": 1, "node": NODE}).json()
    assert [one["id"] for one in page["items"]] == [second["id"]]
    page = live.call("GET", "/fault-findings", params={"limit": 1, "node": NODE, "cursor": page["next"]}).json()
    assert [(one["id"], one["title"]) for one in page["items"]] == [(first["id"], "One pixel is dark or stuck")]
    post(live, first, "end", {"mended": False})
    ended = live.call("GET", "/fault-findings", params={"ended": True}).json()["items"]
    assert (ended[0]["id"], ended[0]["mended"]) == (first["id"], False)
    assert first["id"] not in {one["id"] for one in live.call("GET", "/fault-findings?ended=false").json()["items"]}


def test_symptoms_tell_which_findings_look_like_them(live: LiveHub) -> None:
    with live.client() as client:
        symptoms = {one["symptom"]: one for one in client.get("/api/v1/fault-symptoms").json()}
    assert set(symptoms) == set(Symptom)
    assert "silent" in symptoms["board-silent"]["findings"]
    assert (symptoms["board-silent"]["of_a_run"], symptoms["cut-off"]["of_a_run"]) == (False, True)
