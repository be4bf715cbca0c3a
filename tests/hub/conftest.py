"""A real database of either kind; a hub's link and fleet loop on a real broker, with nothing else around them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from sqlalchemy import Engine

from hub.broker.address import BrokerAddress
from hub.database import open_database
from hub.fleet.loop import FleetListener, FleetLoop
from hub.fleet.state import NodeState
from hub.link.link import Link
from tests.brokers import HUB_USER, Broker
from tests.conftest import NODES, VENUE
from tests.postgres import empty_schema, postgres_server
from tests.processes import wait_until


@dataclass
class RunningFleet:
    """A started loop and its link."""

    loop: FleetLoop
    link: Link

    def node(self, node: str = NODES[0]) -> NodeState:
        return self.loop.state.nodes[VENUE, node]


StartFleet = Callable[..., RunningFleet]


def address_of(broker: Broker) -> BrokerAddress:
    return BrokerAddress(
        broker.host, broker.port, encrypted=False, user=HUB_USER, secret=broker.accounts[HUB_USER].secret
    )


@pytest.fixture
def start_fleet(broker: Broker) -> Iterator[StartFleet]:
    """`start_fleet(make_listeners)`: a fleet on the broker; `make_listeners(loop)` gives its listeners."""
    running: list[RunningFleet] = []

    def start(make_listeners: Callable[[FleetLoop], list[FleetListener]] = lambda _loop: []) -> RunningFleet:
        loop = FleetLoop()
        link = Link(address_of(broker), loop.inbox, loop.link_changed)
        loop.attach(link)
        for listener in make_listeners(loop):
            loop.add_listener(listener)
        loop.set_roster(VENUE, NODES)
        loop.start()
        link.start()
        fleet = RunningFleet(loop, link)
        running.append(fleet)
        wait_until(lambda: link.connected, 10, "the link")
        return fleet

    yield start
    for fleet in running:
        fleet.link.stop()
        fleet.loop.stop()


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """URL of a PostgreSQL server; tests that use it are skipped where there is none."""
    with postgres_server() as url:
        yield url


@pytest.fixture
def database_url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """URL of an empty database: SQLite, or what the test is marked `on_each_database` for."""
    if getattr(request, "param", "sqlite") == "sqlite":
        yield f"sqlite:///{tmp_path_factory.mktemp('database') / 'hub.sqlite3'}"
        return
    with empty_schema(request.getfixturevalue("postgres")) as url:
        yield url


on_each_database = pytest.mark.parametrize("database_url", ["sqlite", "postgresql"], indirect=True)


@pytest.fixture
def engine(database_url: str) -> Iterator[Engine]:
    """A real database with the product's own schema."""
    engine = open_database(database_url)
    yield engine
    engine.dispose()
