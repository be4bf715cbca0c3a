"""A whole running hub on a real server, with its embedded broker, a venue of two boards, and the boards on it."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx

from hub.app import Hub, create_app
from hub.running import RunningHub
from hub.settings import Settings
from tests.conftest import NODES, VENUE
from tests.hub.desired.venues import renamed, row_venue
from tests.hub.edge import served
from tests.hub.rollout.live_board import LiveBoard
from tests.processes import wait_until


@dataclass
class LiveHub:
    """The address and a token; the services behind it; the boards, which show the opening scene."""

    address: str
    token: str
    hub: Hub
    boards: list[LiveBoard]

    @property
    def venue_path(self) -> str:
        return f"/api/v1/venues/{VENUE}"

    def client(self) -> httpx.Client:
        headers = {"Authorization": f"Bearer {self.token}"}
        return httpx.Client(base_url=self.address, headers=headers, timeout=30, trust_env=False)

    def call(self, method: str, path: str, **options: Any) -> httpx.Response:  # noqa: ANN401 (httpx's options)
        """A call to a path of the venue."""
        with self.client() as client:
            return client.request(method, self.venue_path + path, **options)

    def wait_until_free(self) -> None:
        """Once no rollout is under way and every board shows what is in force."""
        wait_until(lambda: self.hub.rollouts.idle(VENUE), 15.0, "rollouts to be over")

    def outcome(self, revision: int) -> dict[str, Any]:
        """The rollout, once it is no longer being staged."""

        def look() -> dict[str, Any] | None:
            rollout: dict[str, Any] = self.call("GET", f"/rollouts/{revision}").json()
            return rollout if rollout["state"] != "staging" else None

        rollout = wait_until(look, 20.0, f"revision {revision} to end")
        assert rollout is not None
        return rollout


@contextmanager
def open_live_hub(folder: Path) -> Iterator[LiveHub]:
    """Two boards of 2 × 75 pixels on a 5 V 4 A supply each; scenes `dusk` (in force) and `full-white`."""
    with ExitStack() as parts:
        running = RunningHub(
            Settings(data_dir=folder, broker_port=0, telemetry_interval_s=60.0)
        )  # these boards send none
        running.start()
        parts.callback(running.stop)
        hub = running.hub
        venue = renamed(row_venue(nodes=2, pixels=75), {"bay-0001": NODES[0], "bay-0002": NODES[1]})
        hub.inventory.load(venue)
        boards = [LiveBoard(hub.credentials.issue(VENUE, node)) for node in NODES]
        for board in boards:
            parts.enter_context(board)
        address = parts.enter_context(served(create_app(hub)))
        parts.callback(running.end_streams)
        live = LiveHub(address, hub.tokens.make(), hub, boards)
        wait_until(lambda: all(board.board.showing is not None for board in boards), 20.0, "the opening scene")
        live.wait_until_free()
        yield live
