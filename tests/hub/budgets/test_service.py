"""A whole running hub and boards on its broker: grants go out and are confirmed, outlive the hub, and are released."""

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import httpx
import pytest

from hub.app import create_app
from hub.running import RunningHub
from hub.settings import Settings
from schemas import Venue
from tests.hub.cli.conftest import run
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.edge import served
from tests.hub.rollout.live_board import LiveBoard
from tests.processes import free_port, wait_until

VENUE = "arcade"
FIRST, SECOND = "bay-0001", "bay-0002"
SUPPLY = "row"


def row_on_one_supply(nodes: int = 2, rated_a: float = 10.0, sharing: str = "fixed") -> Venue:
    """Boards of 2 x 30 pixels, alike, on one supply."""
    document = row_document(nodes=nodes)
    document["supplies"] = [{"id": SUPPLY, "volts": 5.0, "rated_a": rated_a, "sharing": sharing}]
    for node in document["nodes"]:
        for channel in node["channels"]:
            channel["run"]["feeds"][0]["supply"] = SUPPLY
    return venue_from(document)


class Row:
    """The hub, to be stopped and started on the same data, and the boards on its broker."""

    def __init__(self, folder: Path, parts: ExitStack) -> None:
        self.settings = Settings(data_dir=folder, broker_port=free_port(), telemetry_interval_s=1.0)
        self.folder = folder
        self.running = RunningHub(self.settings)
        self.running.start()
        parts.callback(lambda: self.running.stop())
        self.running.hub.inventory.load(row_on_one_supply())
        self.boards = {node: LiveBoard(self.running.hub.credentials.issue(VENUE, node)) for node in (FIRST, SECOND)}
        for board in self.boards.values():
            parts.enter_context(board)

    def restart(self) -> None:
        self.running.stop()
        self.running = RunningHub(self.settings)
        self.running.start()

    def shares(self) -> dict[str, dict[str, Any]]:
        (supply,) = self.running.hub.budgets.budgets(VENUE)
        return {share.node: share.model_dump() for share in supply.nodes}

    def granted(self) -> dict[str, float]:
        """What boards themselves hold."""
        return {
            node: sum(one.budget_a for one in live.board.grant.supplies)
            for node, live in self.boards.items()
            if live.board.grant is not None
        }

    def wait_for(self, **granted: float) -> None:
        wanted = {node.replace("_", "-"): amps for node, amps in granted.items()}

        def settled() -> bool:
            shares = self.shares()
            confirmed = all(node in shares and shares[node]["confirmed"] for node in wanted)
            return confirmed and {node: self.granted().get(node) for node in wanted} == wanted

        wait_until(settled, 20, f"grants of {wanted}")


@pytest.fixture
def row(tmp_path: Path) -> Iterator[Row]:
    with ExitStack() as parts:
        yield Row(tmp_path, parts)


def test_boards_are_granted_their_shares_and_confirm_and_a_restarted_hub_knows(row: Row) -> None:
    row.wait_for(bay_0001=4.0, bay_0002=4.0)
    numbers = [live.board.grant.number for live in row.boards.values() if live.board.grant]
    row.restart()
    wait_until(lambda: all(share["online"] for share in row.shares().values()), 20, "the boards to be back")
    row.wait_for(bay_0001=4.0, bay_0002=4.0)
    assert [live.board.grant.number for live in row.boards.values() if live.board.grant] == numbers, "nothing changed"


def test_smaller_supply_lowers_everybody_and_another_node_gets_its_share_from_the_others(row: Row) -> None:
    row.wait_for(bay_0001=4.0, bay_0002=4.0)
    row.running.hub.inventory.load(row_on_one_supply(rated_a=5.0))
    row.wait_for(bay_0001=2.0, bay_0002=2.0)
    row.running.hub.inventory.load(row_on_one_supply(nodes=4, rated_a=5.0))
    row.wait_for(bay_0001=1.0, bay_0002=1.0)


def test_share_of_a_dead_board_is_its_own_until_a_person_releases_it(row: Row, tmp_path: Path) -> None:
    row.wait_for(bay_0001=4.0, bay_0002=4.0)
    row.boards[SECOND].__exit__(None, None, None)
    wait_until(lambda: not row.shares()[SECOND]["online"], 10, "the death")
    row.running.hub.inventory.load(row_on_one_supply(nodes=1))
    wait_until(lambda: "no longer in the venue" in str(row.shares()[SECOND]["note"]), 20, "the rollout without it")
    assert row.shares()[SECOND]["reserved_a"] == 4.0
    assert row.granted()[FIRST] == 4.0
    with served(create_app(row.running.hub)) as address:
        environment = {"STRINGCOURSE_HUB": address, "STRINGCOURSE_TOKEN": row.running.hub.tokens.make()}
        listed = run(("budget", "list"), environment | {"COLUMNS": "240"}, "", tmp_path)
        assert listed.returncode == 0, listed.stderr
        assert "no longer in the venue" in listed.stdout
        refused = run(("budget", "release", SECOND), environment, "n\n", tmp_path)
        assert refused.returncode != 0
        assert row.shares()[SECOND]["reserved_a"] == 4.0
        done = run(("budget", "release", SECOND, "--yes"), environment, "", tmp_path)
        assert (done.returncode, done.stderr) == (0, "")
    row.wait_for(bay_0001=8.0)


def test_release_is_refused_for_a_board_that_is_connected_and_for_one_that_never_was(row: Row) -> None:
    row.wait_for(bay_0001=4.0, bay_0002=4.0)
    with served(create_app(row.running.hub)) as address:
        headers = {"Authorization": f"Bearer {row.running.hub.tokens.make()}"}
        with httpx.Client(base_url=f"{address}/api/v1/venues/{VENUE}", headers=headers, trust_env=False) as client:
            connected = client.delete(f"/reservations/{FIRST}")
            assert connected.status_code == 409
            assert "switch its board off" in connected.json()["detail"]
            assert client.delete("/reservations/never-there").status_code == 404
            page = client.get("/budgets").json()
    assert page["items"][0]["reserved_a"] == 8.0


def test_board_that_is_taken_out_of_the_venue_goes_dark_first_and_then_loses_its_credential(row: Row) -> None:
    row.wait_for(bay_0001=4.0, bay_0002=4.0)
    row.running.hub.inventory.load(row_on_one_supply(nodes=1))
    wait_until(lambda: row.granted()[SECOND] == 0, 20, "the second board to be granted nothing")
    row.wait_for(bay_0001=8.0)
    assert list(row.shares()) == [FIRST]
    wait_until(lambda: not row.boards[SECOND].connected, 20, "the broker to cut the second board off")
    states = row.running.hub.node_views.states(VENUE)
    assert [state.node for state in states] == [FIRST]
