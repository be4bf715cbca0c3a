"""Nothing under /api/ answers without a token, and a token is never kept."""

from pathlib import Path

import pytest
from fastapi import APIRouter
from sqlalchemy import Engine, text

from hub.api.tokens import Bearer, ThePerson, TokenService
from tests.hub.conftest import on_each_database
from tests.hub.edge import Edge, open_edge


def test_token_is_long_and_only_its_hash_is_kept(edge: Edge) -> None:
    token = TokenService(edge.engine).make()
    assert len(token) >= 43  # 32 bytes in base64
    with edge.engine.connect() as connection:
        stored = connection.execute(text("SELECT * FROM access_token")).all()
    assert len(stored) >= 2
    assert token not in str(stored)


def test_token_made_by_another_process_opens_at_once(edge: Edge) -> None:
    token = TokenService(edge.engine).make()
    with edge.client(f"bearer {token}") as client:
        assert client.get("/api/v1/venues").status_code == 200


@on_each_database
def test_new_hub_has_no_token(engine: Engine) -> None:
    tokens = TokenService(engine)
    assert not tokens.any_made()
    token = tokens.make()
    assert tokens.any_made()
    assert tokens.knows(token)
    assert tokens.bearer(tokens.make("R. Vale")) == Bearer("R. Vale")


@pytest.mark.parametrize(
    "header",
    ["", "Bearer", "Basic {token}", "{token}", "Bearer {token}x", "Bearer x{token}", "Bearer " + "x" * 300],
)
def test_what_is_not_the_token_is_refused(edge: Edge, header: str) -> None:
    with edge.client(header.replace("{token}", edge.token)) as client:
        assert client.get("/api/v1/venues").status_code == 401


def test_every_operation_needs_a_token_but_those_that_the_document_says_need_none(edge: Edge) -> None:
    with edge.client("") as client:
        document = client.get("/api/v1/openapi.json").json()
        operations = [
            (method, path, operation.get("security"))
            for path, methods in document["paths"].items()
            for method, operation in methods.items()
        ]
        opened = {path for _, path, security in operations if security is not None}
        asked = [
            (method, path, client.request(method, path.replace("{", "").replace("}", "")).status_code)
            for method, path, _ in operations
            if path not in opened
        ]
    assert opened == {"/api/v1/live", "/api/v1/ready"}
    assert len(asked) > 20
    assert {status for _, _, status in asked} == {401}


def test_routes_learn_whose_token_it_is(tmp_path: Path) -> None:
    router = APIRouter()

    @router.get("/me")
    def me(person: ThePerson) -> str | None:
        return person

    with open_edge(tmp_path, router) as edge:
        named = TokenService(edge.engine).make("R. Vale")
        with edge.client(f"Bearer {named}") as client, edge.client() as nobody:
            assert client.get("/api/v1/me").json() == "R. Vale"
            assert nobody.get("/api/v1/me").json() is None
