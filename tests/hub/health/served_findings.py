"""The real application over a simulated fleet: eight boards on one supply, three in the foyer, a zone."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx

from hub.api.tokens import TokenService
from hub.app import Hub, create_app
from hub.database import open_database
from hub.fleet.roster import Roster
from hub.inventory.service import InventoryService
from schemas import Venue
from tests.hub.edge import served
from tests.hub.health.simulated_fleet import SimulatedFleet

ON_SUPPLY = [f"bay-{number}" for number in range(1, 9)]
FOYER = ["foyer-1", "foyer-2", "foyer-3"]
_SPAN = {"node": FOYER[0], "channel": 1, "pixels": 10, "path": [[0, 0], [1, 0]]}
_FEED = {"supply": "psu-4", "wire_mm2": 1.5, "length_m": 1.0}
_RUN = {"pixel_type": "rgb-5v-nrz800", "pixels": 10, "pixels_per_m": 30, "feeds": [_FEED]}
_CHANNELS = [{"number": 1, "pin": "spidev0.0", "run": _RUN}]
ARCADE = Venue.model_validate_json(
    json.dumps(
        {
            "id": "arcade",
            "title": "Arcade",
            "supplies": [{"id": name, "volts": 5, "rated_a": 40} for name in ("psu-3", "psu-4")],
            "nodes": [{"id": name, "outputs": 1, "powered_by": "psu-3"} for name in ON_SUPPLY]
            + [{"id": name, "outputs": 1, "channels": _CHANNELS} for name in FOYER],
            "zones": [{"id": "foyer", "spans": [_SPAN]}],
        }
    )
)


@dataclass
class ServedFindings:
    """A served application; time passes by `fleet.pass_time` only."""

    address: str
    tokens: TokenService
    fleet: SimulatedFleet

    def client(self, person: str | None) -> httpx.Client:
        """Of the venue, with a token that carries this name."""
        headers = {"Authorization": f"Bearer {self.tokens.make(person)}"}
        url = f"{self.address}/api/v1/venues/{ARCADE.id}"
        return httpx.Client(base_url=url, headers=headers, timeout=30, trust_env=False)


@contextmanager
def serve_findings(folder: Path, now_s: float) -> Iterator[ServedFindings]:
    engine = open_database(f"sqlite:///{folder / 'hub.sqlite3'}")
    with SimulatedFleet(engine, ARCADE, now_s) as fleet:
        hub = object.__new__(Hub)  # the other rooms' fields stay unset, so that a call that touches one fails
        hub.engine, hub.tokens, hub.inventory = engine, TokenService(engine), InventoryService(engine)
        hub.health, hub.roster = fleet.health, Roster(fleet.loop)
        hub.inventory.load(ARCADE)
        hub.roster.venue_changed(ARCADE)
        with served(create_app(hub)) as address:
            yield ServedFindings(address, hub.tokens, fleet)
    engine.dispose()
