"""The page's routes over a real server: what is served, with which headers, and nothing else."""

import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI

from hub.web.page import mount_page
from tests.processes import wait_until


@dataclass
class Answer:
    status: int
    headers: dict[str, str]
    text: str


Get = Callable[[str], Answer]


@pytest.fixture
def dist(tmp_path: Path) -> Path:
    built = tmp_path / "dist"
    (built / "assets").mkdir(parents=True)
    (built / "index.html").write_text("<!doctype html><title>Elevation</title>")
    (built / "mark.svg").write_text("<svg/>")
    (built / ".sources-sha256").write_text("secret")
    (built / "assets" / "index-abc.js").write_text("export {};")
    (built / "assets" / "index-abc.css").write_text("body{}")
    return built


@pytest.fixture
def serve() -> Iterator[Callable[[Path], Get]]:
    with ExitStack() as parts:

        def start(dist: Path) -> Get:
            app = FastAPI()
            mount_page(app, dist)
            bound = parts.enter_context(socket.create_server(("127.0.0.1", 0)))
            server = uvicorn.Server(uvicorn.Config(app, log_level="error", lifespan="off"))
            thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]})
            thread.start()
            parts.callback(thread.join)
            parts.callback(setattr, server, "should_exit", True)
            wait_until(lambda: server.started, 10, "the page's server is up")
            port: int = bound.getsockname()[1]
            return lambda path: _get(port, path)

        yield start


def _get(port: int, path: str) -> Answer:
    # http.client sends the path as it is written; other clients tidy up dots.
    connection = HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        connection.request("GET", path)
        answer = connection.getresponse()
        headers = {name.lower(): value for name, value in answer.getheaders()}
        return Answer(answer.status, headers, answer.read().decode())
    finally:
        connection.close()


@pytest.fixture
def get(dist: Path, serve: Callable[[Path], Get]) -> Get:
    return serve(dist)


def test_document_is_asked_for_anew_each_time_and_lets_nothing_foreign_in(get: Get) -> None:
    answer = get("/")
    assert answer.status == 200
    assert "Elevation" in answer.text
    assert answer.headers["cache-control"] == "no-cache"
    assert answer.headers["content-security-policy"].startswith("default-src 'self';")
    assert "unsafe" not in answer.headers["content-security-policy"]
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize(("name", "kind"), [("index-abc.js", "javascript"), ("index-abc.css", "text/css")])
def test_assets_are_kept_for_a_year_with_their_media_type(get: Get, name: str, kind: str) -> None:
    answer = get(f"/assets/{name}")
    assert answer.status == 200
    assert kind in answer.headers["content-type"]
    assert "immutable" in answer.headers["cache-control"]
    assert answer.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    "path",
    [
        "/assets/missing.js",
        "/assets/../.sources-sha256",
        "/assets/%2e%2e/.sources-sha256",
        "/assets/..%2f.sources-sha256",
        "/assets/",
        "/.sources-sha256",
        "/index.html",
    ],
)
def test_no_other_file_is_served(get: Get, path: str) -> None:
    assert get(path).status == 404


def test_page_that_is_not_built_says_how_to_build_it(tmp_path: Path, serve: Callable[[Path], Get]) -> None:
    get = serve(tmp_path / "none")
    answer = get("/")
    assert answer.status == 503
    assert "pip install" in answer.text
    assert get("/assets/index-abc.js").status == 404


def test_page_is_no_part_of_the_api_document(get: Get) -> None:
    assert '"paths":{}' in get("/openapi.json").text
