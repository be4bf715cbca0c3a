"""Every error has one shape, whatever went wrong and wherever."""

import logging
from collections.abc import Callable

import httpx
import pytest

from hub.api.problem import Problem
from schemas.bounds import MAX_VENUE_FILE_BYTES

Call = Callable[[httpx.Client], httpx.Response]
JSON = {"Content-Type": "application/json"}
ERRORS: dict[str, tuple[int, Call]] = {
    "no such address": (404, lambda client: client.get("/api/v1/nowhere")),
    "no such page": (404, lambda client: client.get("/nowhere")),
    "method not taken": (405, lambda client: client.patch("/api/v1/venues")),
    "no token": (401, lambda client: client.get("/api/v1/venues", headers={"Authorization": ""})),
    "foreign token": (401, lambda client: client.get("/api/v1/venues", headers={"Authorization": "Bearer x"})),
    "no such venue": (404, lambda client: client.get("/api/v1/venues/none")),
    "no such node": (404, lambda client: client.get("/api/v1/venues/none/nodes/n")),
    "path not an id": (422, lambda client: client.get("/api/v1/venues/NOT_AN_ID")),
    "query out of bounds": (422, lambda client: client.get("/api/v1/venues", params={"limit": 501})),
    "cursor of nobody": (422, lambda client: client.get("/api/v1/venues", params={"cursor": "!"})),
    "cursor not text": (422, lambda client: client.get("/api/v1/venues", params={"cursor": "_w"})),
    "body missing": (422, lambda client: client.post("/api/v1/trials/node")),
    "body not JSON": (422, lambda client: client.post("/api/v1/trials/node", content=b"{", headers=JSON)),
    "body too deep": (400, lambda client: client.post("/api/v1/trials/node", content=b"[" * 200_000, headers=JSON)),
    "body of another kind": (422, lambda client: client.post("/api/v1/trials/node", content=b"id: a")),
    "body with mistakes": (422, lambda client: client.post("/api/v1/trials/node", json={"id": "A", "wings": 2})),
    "body too large": (
        413,
        lambda client: client.post("/api/v1/trials/node", content=b"x" * (MAX_VENUE_FILE_BYTES + 1)),
    ),
    "body that streams on": (
        413,
        lambda client: client.post("/api/v1/trials/node", content=(b"x" * 1_000_000 for _ in range(9)), headers=JSON),
    ),
    "file of another kind": (
        415,
        lambda client: client.post("/api/v1/venues/check", content=b"x", headers={"Content-Type": "image/png"}),
    ),
    "no precondition": (
        428,
        lambda client: client.put("/api/v1/venues/a", content=b"id: a\ntitle: A"),
    ),
    "conflict": (409, lambda client: client.get("/api/v1/trials/conflict")),
    "part not there": (503, lambda client: client.get("/api/v1/trials/unavailable")),
    "mistakes with surrogates": (422, lambda client: client.get("/api/v1/trials/invalid")),
    "unforeseen": (500, lambda client: client.get("/api/v1/trials/unforeseen")),
}


@pytest.mark.parametrize("case", ERRORS)
def test_every_error_is_a_problem(client: httpx.Client, case: str) -> None:
    status, call = ERRORS[case]
    response = call(client)
    assert response.status_code == status
    assert response.headers["content-type"] == "application/problem+json"
    problem = Problem.model_validate_json(response.content)
    assert problem.status == status
    assert problem.title
    assert problem.detail
    assert all(mistake.field and mistake.reason and mistake.remedy for mistake in problem.mistakes)


def test_unforeseen_error_tells_nothing_of_the_inside(client: httpx.Client, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.ERROR):
        problem = Problem.model_validate_json(client.get("/api/v1/trials/unforeseen").content)
    assert "secret" not in problem.model_dump_json()
    incident = problem.detail.rsplit(" ", 1)[1]
    assert any(incident in record.message for record in caplog.records)


def test_every_mistake_of_a_body_is_told_at_once(client: httpx.Client) -> None:
    response = client.post("/api/v1/trials/node", json={"id": "A", "outputs": 9, "wings": 2})
    mistakes = {mistake["field"]: mistake for mistake in response.json()["mistakes"]}
    assert set(mistakes) == {"body.id", "body.outputs", "body.wings"}
    assert "'A' is not an id" in mistakes["body.id"]["reason"]


def test_mistakes_keep_their_lines(client: httpx.Client) -> None:
    assert [one["line"] for one in client.get("/api/v1/trials/invalid").json()["mistakes"]] == [3, None]


def test_missing_token_is_asked_for(client: httpx.Client) -> None:
    response = client.get("/api/v1/venues", headers={"Authorization": ""})
    assert response.headers["www-authenticate"] == "Bearer"


def test_method_that_is_not_taken_names_those_that_are(client: httpx.Client) -> None:
    assert client.patch("/api/v1/venues").headers["allow"] == "GET"


def test_strict_contract_is_read_as_the_json_it_is(client: httpx.Client) -> None:
    body = {"id": "n", "outputs": 1, "channels": [], "frame_rate_limit_hz": 25}
    assert client.post("/api/v1/trials/node", json=body).json()["frame_rate_limit_hz"] == 25.0
