"""A served inventory with the kiosk, whose zones looks are added over."""

from collections.abc import Iterator

import httpx
import pytest

from hub.venue_file import read_venue_file
from tests.hub.edge import Edge, open_edge
from tests.hub.venue_file.test_reading import GOOD


@pytest.fixture(scope="package")
def edge(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Edge]:
    with open_edge(tmp_path_factory.mktemp("edge")) as opened:
        yield opened


@pytest.fixture
def client(edge: Edge) -> Iterator[httpx.Client]:
    """A caller; the kiosk is loaded as the file says, whatever a test before did to it."""
    edge.inventory.load(read_venue_file(GOOD))
    with edge.client() as opened:
        yield opened
