"""History over HTTP: points as JSON and CSV; what cannot be told is refused with the field and a remedy."""

import csv
import io
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from tests.hub.edge import Edge, open_edge
from tests.hub.energy.told import FIRST, SUPPLY, VENUE, shared_venue
from tests.hub.history.told import NOON_S, Played, drawing

FROM_MS = round(NOON_S * 1_000)
MINUTE = {"from_ms": FROM_MS, "until_ms": FROM_MS + 60_000}


@pytest.fixture(scope="module")
def edge(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Edge]:
    """One node's two messages, half a minute apart."""
    with open_edge(tmp_path_factory.mktemp("edge")) as opened:
        opened.inventory.load(shared_venue())
        played = Played(opened.engine)
        played.tell(NOON_S, FIRST, **drawing(amps=1.25, highest_a=2.5))
        played.tell(NOON_S + 30, FIRST, **drawing(amps=1.5))
        played.service.write()
        yield opened


def get(edge: Edge, path: str, **query: object) -> httpx.Response:
    with edge.client() as client:
        return client.get(f"/api/v1/venues/{VENUE}/history/{path}", params=query)  # type: ignore[arg-type]


def told(edge: Edge, path: str, **query: object) -> dict[str, Any]:
    answer = get(edge, path, **(MINUTE | query))
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_points_with_low_mean_and_high(edge: Edge) -> None:
    found = told(edge, f"node/{FIRST}", quantity=["amps", "highest-amps"])
    assert (found["level"], found["period_ms"], found["at_ms"][0]) == ("raw", 15_000, FROM_MS)
    amps, highest = found["quantities"]
    assert (amps["quantity"], amps["unit"]) == ("amps", "A")
    assert amps["low"] == amps["mean"] == amps["high"] == [1.25, None, 1.5, None]
    assert highest["high"] == [2.5, None, 1.5, None]


def test_without_quantities_all_of_the_kind_are_told(edge: Edge) -> None:
    names = [one["quantity"] for one in told(edge, f"supply/{SUPPLY}")["quantities"]]
    assert names == ["amps", "highest-amps", "limiter-scale", "budget"]
    assert "nodes-online" in [one["quantity"] for one in told(edge, f"venue/{VENUE}")["quantities"]]


def test_without_times_it_is_the_last_day(edge: Edge) -> None:
    found = get(edge, f"node/{FIRST}").json()
    assert found["until_ms"] - found["from_ms"] == 86_400_000


def test_csv_has_a_line_for_each_point_that_was_told(edge: Edge) -> None:
    answer = get(edge, f"node/{FIRST}.csv", quantity="amps", **MINUTE)
    assert answer.headers["content-type"].startswith("text/csv")
    assert f"{VENUE}-node-{FIRST}-history.csv" in answer.headers["content-disposition"]
    assert list(csv.reader(io.StringIO(answer.text, newline=""))) == [
        ["at", "amps low (A)", "amps mean (A)", "amps high (A)"],
        ["2031-05-01T12:00:00Z", "1.25", "1.25", "1.25"],
        ["2031-05-01T12:00:30Z", "1.5", "1.5", "1.5"],
    ]


@pytest.mark.parametrize(
    ("path", "query", "status", "field"),
    [
        (f"node/{FIRST}", {"quantity": "budget"}, 422, "query.quantity"),
        (f"node/{FIRST}", {"quantity": "lumens"}, 422, "query.quantity[0]"),
        (f"node/{FIRST}", {"from_ms": FROM_MS, "until_ms": FROM_MS}, 422, "query.from_ms"),
        (f"node/{FIRST}", {"until_ms": 0}, 422, "query.from_ms"),
        (f"node/{FIRST}", {"points": 2_001}, 422, "query.points"),
        (f"node/{FIRST}", {"points": 1}, 422, "query.points"),
        (f"node/{FIRST}", {"until_ms": 2**53}, 422, "query.until_ms"),
        (f"fuse/{FIRST}", {}, 422, "path.subject_kind"),
        ("node/none-such", {}, 404, None),
        ("venue/another", {}, 404, None),
    ],
)
def test_what_cannot_be_told(edge: Edge, path: str, query: dict[str, object], status: int, field: str | None) -> None:
    for ending in ("", ".csv"):
        answer = get(edge, path + ending, **query)
        assert answer.status_code == status, answer.text
        assert [one["field"] for one in answer.json()["mistakes"]] == ([] if field is None else [field])


def test_any_time_of_the_calendar_is_answered(edge: Edge) -> None:
    found = get(edge, f"node/{FIRST}", from_ms=0, until_ms=253_402_300_799_999, points=2_000).json()
    assert (found["level"], len(found["at_ms"]) <= 2_000) == ("hour", True)
