"""An edge with routes that fail in every way, beside the real ones."""

from collections.abc import Iterator
from typing import Annotated

import httpx
import pytest
from fastapi import APIRouter

from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.errors import ConflictError, InvalidError, Mistake, UnavailableError
from schemas.venue import Node
from tests.hub.edge import Edge, open_edge

trials = APIRouter(prefix="/trials")
ITEMS = [f"item-{number:02}" for number in range(23)]


@trials.get("/unforeseen")
def unforeseen() -> None:
    raise RuntimeError("secret of the inside")


@trials.get("/conflict")
def conflict() -> None:
    raise ConflictError("it is already so")


@trials.get("/unavailable")
def unavailable() -> None:
    raise UnavailableError("the broker is not there")


@trials.get("/invalid")
def invalid() -> None:
    raise InvalidError("two mistakes", [Mistake("a", "is bad", "mend it", 3), Mistake("b", "is \ud800", "mend it")])


@trials.post("/node")
def take_node(body: Annotated[Node, FromJson()]) -> Node:
    return body


@trials.get("/items")
def items(wanted: WantedPage) -> Page[str]:
    return wanted.page_of_all(ITEMS, str)


@pytest.fixture(scope="package")
def edge(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Edge]:
    with open_edge(tmp_path_factory.mktemp("edge"), trials) as opened:
        yield opened


@pytest.fixture
def client(edge: Edge) -> Iterator[httpx.Client]:
    with edge.client() as opened:
        yield opened
