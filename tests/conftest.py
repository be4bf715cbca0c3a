"""Fixtures shared by all rooms: a real broker for each test, with an account for the hub and for some nodes."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.brokers import Broker, hub_account, make_mosquitto, node_account
from tests.nats_broker import NatsServer

VENUE = "arcade"
NODES = ("bay-01", "bay-02")


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Broker]:
    """Mosquitto with accounts of the hub and of `NODES` of `VENUE`."""
    accounts = [hub_account(), *(node_account(VENUE, node) for node in NODES)]
    running = make_mosquitto(tmp_path / "broker", accounts)
    try:
        yield running
    finally:
        running.stop()


@pytest.fixture(params=["embedded", "mosquitto"])
def each_broker(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Broker]:
    """Each kind of broker that the product stands on, with the same accounts."""
    accounts = [hub_account(), *(node_account(VENUE, node) for node in NODES)]
    running: Broker
    if request.param == "embedded":
        running = NatsServer(tmp_path / "broker", accounts)
        running.start()
    else:
        running = make_mosquitto(tmp_path / "broker", accounts)
    try:
        yield running
    finally:
        running.stop()
