"""REST of findings and of planned work, on a real server over a real database."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest

from tests.hub.health.served_findings import FOYER, ON_SUPPLY, ServedFindings, serve_findings


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedFindings]:
    """The supply of eight is cut, and one board in the foyer."""
    noon_s = datetime.now(UTC).replace(hour=12, minute=0, second=0).timestamp()
    with serve_findings(tmp_path_factory.mktemp("hub"), noon_s) as served:
        served.fleet.cut([*ON_SUPPLY, FOYER[0]])
        served.fleet.pass_time(5.0)
        yield served


@pytest.fixture
def ada(served: ServedFindings) -> Iterator[httpx.Client]:
    with served.client("Ada") as client:
        yield client


def listed(client: httpx.Client, **query: str) -> list[dict[str, Any]]:
    answer = client.get("/findings", params=query)
    assert answer.status_code == 200, answer.text
    items: list[dict[str, Any]] = answer.json()["items"]
    return items


def test_findings_are_told_without_those_that_another_stands_for(ada: httpx.Client) -> None:
    told = listed(ada)
    assert [(one["node"], one["cause"]) for one in told] == [
        (None, {"kind": "supply", "name": "psu-3"}),
        (FOYER[0], None),
    ]
    assert len(listed(ada, folded="true")) == 10
    assert len(listed(ada, folded="true", node=ON_SUPPLY[0])) == 1
    assert listed(ada, severity="notice") == listed(ada, state="acknowledged") == listed(ada, open="false") == []
    assert len(listed(ada, severity="alarm", state="open", kind="silent")) == 2
    detail = ada.get(f"/findings/{told[0]['id']}").json()
    assert sorted(one["node"] for one in detail["member_findings"]) == ON_SUPPLY
    assert detail["members"] == told[0]["members"]
    assert [one["change"] for one in detail["changes"]] == ["opened"]


def test_planned_work_is_made_listed_and_lifted(served: ServedFindings, ada: httpx.Client) -> None:
    until_ms = int(served.fleet.now_s * 1000) + 3_600_000
    made = ada.post("/mutes", json={"zones": ["foyer"], "until_ms": until_ms, "reason": "new fascia"})
    assert made.status_code == 201, made.text
    mute = made.json()
    assert (mute["zones"], mute["made_by"], mute["until_ms"]) == (["foyer"], "Ada", until_ms)
    assert [one["node"] for one in listed(ada, state="muted")] == [FOYER[0]]
    assert [one["id"] for one in ada.get("/mutes").json()["items"]] == [mute["id"]]
    assert ada.delete(f"/mutes/{mute['id']}").status_code == 204
    assert listed(ada, state="muted") == ada.get("/mutes").json()["items"] == []
    assert [one["lifted_by"] for one in ada.get("/mutes", params={"over": "true"}).json()["items"]] == ["Ada"]
    assert ada.delete(f"/mutes/{mute['id']}").status_code == 409


def test_digest_of_a_day_says_what_is_still_wrong(ada: httpx.Client) -> None:
    today = ada.get("/findings/digest").json()
    assert today["sentences"][0] == "2 findings opened, 0 ended, 2 still open."
    assert sum(sentence.startswith("Still wrong: ") for sentence in today["sentences"]) == 2
    assert [(one["nodes"], one["severity"]) for one in today["rows"]] == [(8, "alarm"), (1, "alarm")]
    named = ada.get("/findings/digest", params={"day": datetime.now(UTC).date().isoformat()}).json()
    assert named["rows"] == today["rows"]
    assert ada.get("/findings/digest", params={"day": "2001-01-01"}).json()["sentences"] == ["Nothing was wrong."]


@pytest.mark.parametrize(
    ("method", "path", "body", "status", "word"),
    [
        ("GET", "/findings/999", None, 404, "there is no finding"),
        ("GET", "/findings/none", None, 422, "finding"),
        ("GET", "/findings?cursor=AAAA", None, 422, "cursor"),
        ("GET", "/findings/digest?day=2031-1-1", None, 422, "YYYY-MM-DD"),
        ("POST", "/findings/999/acknowledge", {}, 404, "there is no finding"),
        ("POST", "/findings/1/acknowledge", {"note": "x" * 401}, 422, "note"),
        ("POST", "/findings/1/notes", {"text": "  "}, 422, "says nothing"),
        ("POST", "/mutes", {"until_ms": 9e99, "reason": "r"}, 422, "until_ms"),
        ("POST", "/mutes", {"until_ms": 1, "reason": "r"}, 422, "over already"),
        ("POST", "/mutes", {"until_ms": 1, "reason": ""}, 422, "reason"),
        ("POST", "/mutes", {"until_ms": 1, "reason": "r", "nodes": ["bay-99"]}, 422, "nodes.0"),
        ("DELETE", "/mutes/7", None, 404, "there is no mute"),
    ],
)
def test_what_cannot_be_done_is_refused_with_a_remedy(
    ada: httpx.Client, method: str, path: str, body: object, status: int, word: str
) -> None:
    answer = ada.request(method, path, json=body)
    assert (answer.status_code, word in answer.text) == (status, True), answer.text


def test_who_acknowledged_is_who_the_token_names(served: ServedFindings, ada: httpx.Client) -> None:
    finding = listed(ada)[1]["id"]
    taken = ada.post(f"/findings/{finding}/acknowledge", json={"note": "on my way"}).json()
    assert (taken["state"], taken["acknowledged_by"], taken["note"]) == ("acknowledged", "Ada", "on my way")
    with served.client(None) as nameless:
        assert nameless.post(f"/findings/{finding}/notes", json={"text": "fuse F2"}).json()["note"] == "fuse F2"
    changes = ada.get(f"/findings/{finding}").json()["changes"]
    assert [(one["change"], one["by"]) for one in changes[-2:]] == [("acknowledged", "Ada"), ("noted", None)]
    served.fleet.mend([FOYER[0]])
    served.fleet.pass_time(5.0)
    assert ada.post(f"/findings/{finding}/acknowledge", json={}).status_code == 409
