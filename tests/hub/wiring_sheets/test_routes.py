"""REST of the wiring sheets, on a real server."""

import io
import threading
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from pypdf import PdfReader

from hub.venue_file import read_venue_file
from tests.hub.desired.venues import row_venue
from tests.hub.edge import Edge, open_edge

DEMO = Path(__file__).parents[3] / "deploy" / "demo"
VENUE = "/api/v1/venues/corn-exchange"
SHEETS_READ = 40


@pytest.fixture(scope="module")
def edge(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Edge]:
    with open_edge(tmp_path_factory.mktemp("edge")) as opened:
        opened.inventory.load(read_venue_file(DEMO / "arcade.yaml"))
        opened.inventory.load(row_venue(nodes=1_000, pixels=2))
        yield opened


@pytest.fixture
def client(edge: Edge) -> Iterator[httpx.Client]:
    with edge.client() as opened:
        yield opened


@pytest.mark.parametrize(
    ("ending", "media_type", "begins"),
    [("svg", "image/svg+xml", b"<svg"), ("html", "text/html", b"<!doctype html>"), ("pdf", "application/pdf", b"%PDF")],
)
def test_sheet_of_a_node_comes_in_each_form(client: httpx.Client, ending: str, media_type: str, begins: bytes) -> None:
    answer = client.get(f"{VENUE}/nodes/bay-01/wiring-sheet.{ending}")
    assert answer.status_code == 200
    assert answer.headers["Content-Type"].startswith(media_type)
    assert answer.headers["Content-Security-Policy"].startswith("sandbox; default-src 'none'")
    assert f'filename="corn-exchange-bay-01-wiring.{ending}"' in answer.headers["Content-Disposition"]
    assert answer.content.startswith(begins)


def test_drawing_is_xml(client: httpx.Client) -> None:
    root = ET.fromstring(client.get(f"{VENUE}/nodes/clock/wiring-sheet.svg").content)  # noqa: S314
    assert root.findtext("{http://www.w3.org/2000/svg}title") == "Wiring of node clock of venue corn-exchange"


def test_part_of_a_venue_comes_as_pdf(client: httpx.Client) -> None:
    answer = client.get(f"{VENUE}/wiring-sheets.pdf", params={"first": 17, "count": 2})
    assert len(PdfReader(io.BytesIO(answer.content)).pages) == 4


@pytest.mark.parametrize(
    ("path", "status", "field"),
    [
        ("/nodes/attic/wiring-sheet.svg", 404, None),
        ("/nodes/attic/wiring-sheet.html", 404, None),
        ("/nodes/attic/wiring-sheet.pdf", 404, None),
        ("/nodes/bay-01/wiring-sheet.png", 404, None),
        ("/wiring-sheets.pdf?first=0", 422, "query.first"),
        ("/wiring-sheets.pdf?first=19", 422, "query.first"),
        ("/wiring-sheets.pdf?count=21", 422, "query.count"),
        ("/wiring-sheets.html?count=21", 422, "query.count"),
    ],
)
def test_what_is_not_there_is_a_problem(client: httpx.Client, path: str, status: int, field: str | None) -> None:
    answer = client.get(VENUE + path)
    assert answer.status_code == status
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert [mistake["field"] for mistake in answer.json()["mistakes"]] == ([] if field is None else [field])


def test_pdf_of_a_thousand_nodes_is_refused_at_once(client: httpx.Client) -> None:
    answer = client.get("/api/v1/venues/arcade/wiring-sheets.pdf")
    assert answer.status_code == 422
    assert "first=1&count=20" in answer.json()["mistakes"][0]["remedy"]


def test_other_calls_are_answered_while_a_thousand_sheets_are_drawn(edge: Edge) -> None:
    sheets, enough = 0, threading.Event()

    def read() -> None:
        nonlocal sheets
        with edge.client() as reader, reader.stream("GET", "/api/v1/venues/arcade/wiring-sheets.html") as answer:
            for piece in answer.iter_text():
                sheets += piece.count('<article class="sheet">')
                if sheets >= SHEETS_READ:
                    break
        enough.set()

    reading = threading.Thread(target=read)
    reading.start()
    answered = 0
    with edge.client() as other:
        while not enough.is_set():
            assert other.get("/api/v1/venues", params={"limit": 1}).status_code == 200
            answered += 1
    reading.join()
    assert sheets >= SHEETS_READ
    # Were the event loop held up, one call at most would have come through.
    assert answered >= 5
