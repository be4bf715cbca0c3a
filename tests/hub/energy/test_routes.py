"""The account over HTTP: kilowatt-hours and cost of what boards told, as JSON and CSV; bad days named with a remedy."""

import csv
import io
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest

from hub.energy import EnergyService
from hub.fleet.state import FleetState
from tests.hub.edge import Edge, open_edge
from tests.hub.energy.told import FIRST, NOON_S, SECOND, SUPPLY, VENUE, shared_venue, tell


@pytest.fixture(scope="module")
def edge(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Edge]:
    """2 A·h of one board and 1 A·h of the other, all on one day, at 5 V, 80 % and 0.25 EUR."""
    with open_edge(tmp_path_factory.mktemp("edge")) as opened:
        opened.inventory.load(shared_venue())
        service = EnergyService(opened.engine, FleetState())
        service.venue_changed(shared_venue())
        tell(service, NOON_S, 2.0, 3_600)
        tell(service, NOON_S, 1.0, 3_600, node=SECOND)
        tell(service, time.time(), 0.5, 600, boot_id="fedcba9876543210")
        service.write()
        yield opened


def get(edge: Edge, path: str = "energy", **query: str) -> httpx.Response:
    with edge.client() as client:
        return client.get(f"/api/v1/venues/{VENUE}/{path}", params=query)


def account(edge: Edge, **query: str) -> dict[str, Any]:
    answer = get(edge, **{"from": "2031-05-01", "to": "2031-05-01"} | query)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_account_by_supply_is_worked_out_to_cost(edge: Edge) -> None:
    found = account(edge)
    # 3 A·h × 5 V = 15 W·h; over 0.8 it is 18.75 W·h; at 0.25 EUR/kWh 0.0046875 EUR.
    figures = {"amp_h": 3.0, "dc_kwh": 0.015, "mains_kwh": 0.01875, "cost": 0.0046875, "hours": 2.0}
    (row,) = found["rows"]
    assert row.pop("name") == SUPPLY
    assert row == pytest.approx(figures, abs=1e-6)
    assert found["total"] == pytest.approx(figures, abs=1e-6)
    assert (found["currency"], found["per_kwh"], found["by"]) == ("EUR", 0.25, "supply")
    assert found["time_zone"] == "UTC"


def test_account_by_node_and_by_day(edge: Edge) -> None:
    assert [(row["name"], row["amp_h"]) for row in account(edge, by="node")["rows"]] == [(FIRST, 2.0), (SECOND, 1.0)]
    assert [(row["name"], row["amp_h"]) for row in account(edge, by="day")["rows"]] == [("2031-05-01", 3.0)]
    assert account(edge, to="2031-05-02", **{"from": "2031-05-02"})["rows"] == []


def test_without_days_the_last_thirty_are_told(edge: Edge) -> None:
    found = get(edge).json()
    assert found["last_day"] == datetime.now(UTC).date().isoformat()
    first, last = (datetime.fromisoformat(found[key]) for key in ("first_day", "last_day"))
    assert (last - first).days == 29


def test_csv_holds_the_rows_with_their_units(edge: Edge) -> None:
    answer = get(edge, "energy.csv", **{"from": "2031-05-01", "to": "2031-05-01", "by": "node"})
    assert answer.headers["content-type"].startswith("text/csv")
    assert f"{VENUE}-energy-by-node-2031-05-01-2031-05-01.csv" in answer.headers["content-disposition"]
    lines = list(csv.reader(io.StringIO(answer.text, newline="")))
    assert lines[0] == ["node", "amp_h", "dc_kwh", "mains_kwh", "cost", "currency", "hours"]
    assert lines[1] == [FIRST, "2.0", "0.01", "0.0125", "0.003125", "EUR", "1.0"]
    assert len(lines) == 3
    assert answer.text.endswith("\r\n")


def test_without_a_tariff_there_is_no_cost(edge: Edge) -> None:
    edge.inventory.load(shared_venue(tariff=False))
    try:
        found = account(edge)
        assert (found["total"]["cost"], found["currency"]) == (None, None)
        text = get(edge, "energy.csv", **{"from": "2031-05-01", "to": "2031-05-01"}).text
        assert text.splitlines()[1] == f"{SUPPLY},3.0,0.015,0.01875,,,2.0"
    finally:
        edge.inventory.load(shared_venue())


@pytest.mark.parametrize("path", ["energy", "energy.csv"])
@pytest.mark.parametrize(
    ("query", "field", "remedy"),
    [
        ({"from": "yesterday"}, "query.from", "YYYY-MM-DD"),
        ({"to": "2031-02-30"}, "query.to", "YYYY-MM-DD"),
        ({"to": "20310501"}, "query.to", "YYYY-MM-DD"),
        ({"to": "2031-W18-4"}, "query.to", "YYYY-MM-DD"),
        ({"from": "2031-05-02", "to": "2031-05-01"}, "query.from", "later `to`"),
        ({"by": "week"}, "query.by", "'supply'"),
        ({"form": "2031-05-01"}, "query.form", "`from`"),
    ],
)
def test_bad_days_are_named_with_a_remedy(
    edge: Edge, path: str, query: dict[str, str], field: str, remedy: str
) -> None:
    answer = get(edge, path, **query)
    assert answer.status_code == 422
    (mistake,) = answer.json()["mistakes"]
    assert mistake["field"] == field
    assert remedy in mistake["remedy"] + mistake["reason"]


def test_days_at_the_ends_of_the_calendar_are_answered(edge: Edge) -> None:
    assert account(edge, to="9999-12-31", **{"from": "0001-01-01"})["rows"] == []
    assert account(edge, to="0001-01-01", **{"from": "0001-01-01"})["rows"] == []
    assert get(edge, to="0001-01-02").status_code == 200


def test_venue_that_is_not_there_is_not_found(edge: Edge) -> None:
    with edge.client() as client:
        assert client.get("/api/v1/venues/nowhere/energy").status_code == 404
