"""`stringcourse energy` as a process against a real server."""

import json
from pathlib import Path

import pytest

from hub.energy import EnergyService
from hub.fleet.state import FleetState
from tests.hub.cli.conftest import Stringcourse
from tests.hub.edge import Edge
from tests.hub.energy.told import FIRST, NOON_S, SUPPLY, VENUE, shared_venue, tell

DAYS = ("--venue", VENUE, "--from", "2031-05-01", "--to", "2031-05-01")


@pytest.fixture(autouse=True)
def drawn(edge: Edge) -> None:
    """2 A·h at 5 V, 80 % and 0.25 EUR; told again and again it stays 2."""
    edge.inventory.load(shared_venue())
    service = EnergyService(edge.engine, FleetState())
    service.venue_changed(shared_venue())
    tell(service, NOON_S, 2.0, 3_600)
    service.write()


def test_account_is_a_table_with_its_total_tariff_and_notes(stringcourse: Stringcourse) -> None:
    done = stringcourse("energy", *DAYS)
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert lines[0] == "2031-05-01 to 2031-05-01 (UTC)"
    assert lines[2].split() == [SUPPLY, "2.0", "0.01", "0.013", "0.0", "1.0"]
    assert lines[3].split()[0] == "total"
    assert "Tariff: 0.25 EUR per kWh." in lines
    assert "not a meter" in done.stdout


def test_by_node_for_programs(stringcourse: Stringcourse) -> None:
    account = json.loads(stringcourse("energy", *DAYS, "--by", "node", "--json").stdout)
    assert [(row["name"], row["mains_kwh"]) for row in account["rows"]] == [(FIRST, 0.0125)]


def test_csv_to_standard_output_and_to_a_file(stringcourse: Stringcourse, tmp_path: Path) -> None:
    text = f"supply,amp_h,dc_kwh,mains_kwh,cost,currency,hours\n{SUPPLY},2.0,0.01,0.0125,0.003125,EUR,1.0\n"
    assert stringcourse("energy", *DAYS, "--csv", "-").stdout == text
    done = stringcourse("energy", *DAYS, "--csv", "may.csv")
    assert (done.returncode, done.stdout) == (0, "")
    assert (tmp_path / "may.csv").read_bytes() == text.replace("\n", "\r\n").encode()


def test_days_without_telemetry_say_so(stringcourse: Stringcourse) -> None:
    done = stringcourse("energy", "--venue", VENUE, "--from", "2001-01-01", "--to", "2001-01-02")
    assert (done.returncode, done.stdout.splitlines()[1]) == (0, "nothing was heard of in these days")


@pytest.mark.parametrize(
    ("arguments", "code", "word"),
    [
        (("--from", "yesterday"), 2, "YYYY-MM-DD"),
        (("--by", "week"), 2, "week"),
        (("--json", "--csv", "-"), 2, "exclude each other"),
        (("--csv", "no/such/folder.csv"), 2, "cannot be written"),
        (("--venue", "nowhere"), 5, "nowhere"),
    ],
)
def test_exit_code_tells_what_was_wrong(
    stringcourse: Stringcourse, arguments: tuple[str, ...], code: int, word: str
) -> None:
    done = stringcourse("energy", *(() if "--venue" in arguments else ("--venue", VENUE)), *arguments)
    assert done.returncode == code
    assert word in done.stderr
