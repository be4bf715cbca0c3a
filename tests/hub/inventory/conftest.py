"""An inventory over a real database, and the kiosk."""

from collections.abc import Iterator

import httpx
import pytest
from sqlalchemy import Engine

from hub.inventory.service import InventoryService
from hub.venue_file import read_venue_file
from schemas.venue import Venue
from tests.hub.edge import Edge, open_edge
from tests.hub.venue_file.test_reading import GOOD


@pytest.fixture
def kiosk() -> Venue:
    return read_venue_file(GOOD)


@pytest.fixture
def inventory(engine: Engine, kiosk: Venue) -> InventoryService:
    """With the kiosk loaded."""
    service = InventoryService(engine)
    service.load(kiosk)
    return service


@pytest.fixture(scope="package")
def edge(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Edge]:
    with open_edge(tmp_path_factory.mktemp("edge")) as opened:
        yield opened


@pytest.fixture
def client(edge: Edge, kiosk: Venue) -> Iterator[httpx.Client]:
    """A caller; the kiosk is loaded as the file says, whatever a test before did to it."""
    edge.inventory.load(kiosk)
    with edge.client() as opened:
        yield opened
