"""The real application on a real server, over a real database file; behind it what needs no broker."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx
import uvicorn
from fastapi import APIRouter, FastAPI
from sqlalchemy import Engine

from hub.api.tokens import TokenService
from hub.app import API, Hub, create_app
from hub.database import migrate, open_engine
from hub.energy import EnergyService
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.fleet.state import FleetState
from hub.health.service import HealthService
from hub.history import HistoryService
from hub.inventory.service import InventoryService
from hub.notify import NotifyService
from hub.settings import Settings
from tests.processes import wait_until


@dataclass
class Edge:
    """A served application, a token for it, and what is behind it."""

    address: str
    token: str
    engine: Engine
    inventory: InventoryService

    def client(self, authorization: str | None = None) -> httpx.Client:
        """A caller, with the token unless told otherwise."""
        headers = {"Authorization": f"Bearer {self.token}" if authorization is None else authorization}
        return httpx.Client(base_url=self.address, headers=headers, timeout=30, trust_env=False)


@contextmanager
def open_edge(folder: Path, *extra: APIRouter) -> Iterator[Edge]:
    """An edge over a new SQLite file in `folder`; `extra` routers join the application's own."""
    settings = Settings(data_dir=folder)
    engine = open_engine(settings.resolved_database_url)
    migrate(engine)
    # The other rooms need a broker; their fields stay unset, so that a call that touches one fails.
    hub = object.__new__(Hub)
    hub.settings, hub.engine = settings, engine
    hub.tokens, hub.inventory, hub.energy, hub.history = (
        TokenService(engine),
        InventoryService(engine),
        EnergyService(engine, FleetState()),
        HistoryService(engine, FleetState(), 5.0),
    )
    health = HealthService(engine, FleetLoop(), EventBus(), telemetry_interval_s=5.0, desired_revision=lambda *_: None)
    hub.notify = NotifyService(engine, hub.inventory, health, lambda: True)
    app = create_app(hub)
    for router in extra:
        app.include_router(router, prefix=API)
    try:
        with served(app) as address:
            yield Edge(address, hub.tokens.make(), engine, hub.inventory)
    finally:
        engine.dispose()


@contextmanager
def served(app: FastAPI) -> Iterator[str]:
    """The address of a real server over `app`, on a free port of the loopback."""
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="warning", lifespan="off"))
    thread = threading.Thread(target=server.run)
    thread.start()
    try:
        wait_until(lambda: server.started, 20, "the server")
        port = server.servers[0].sockets[0].getsockname()[1]
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(20)
        assert not thread.is_alive()
