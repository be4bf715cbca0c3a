"""Fixtures shared by all rooms: a real broker for each test, with an account for the hub and for some nodes."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.brokers import Broker, hub_account, make_mosquitto, node_account
from tests.known_flashes import KnownFlashes, known_flashes_of_run
from tests.nats_broker import NatsServer

VENUE = "arcade"
NODES = ("bay-01", "bay-02")
FIRST = ("test_shared_supply", "test_demo_venues")
"""The one that waits longest, and the one whose flash checks others can use."""

# Tests say what must be true and not how fast: three workers share the processors with all that they start.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


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


@pytest.fixture(scope="session")
def known_flashes(tmp_path_factory: pytest.TempPathFactory) -> KnownFlashes:
    return known_flashes_of_run(tmp_path_factory)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Spreads the files of whole processes evenly over the run, after those of `FIRST`.

    Files are handed to the workers in this order: together at the end they would leave processors idle or, side by
    side, too little of them for the promises in seconds that they hold.
    """
    by_file: dict[Path, list[pytest.Item]] = {}
    for item in items:
        by_file.setdefault(item.path, []).append(item)
    ordered = sorted((file for file in by_file if file.stem in FIRST), key=lambda file: FIRST.index(file.stem))
    rest = [file for file in by_file if file.stem not in FIRST]
    whole = [file for file in rest if file.parent.name == "e2e"]
    others = [file for file in rest if file.parent.name != "e2e"]
    apart = len(others) // max(len(whole), 1)
    for number, file in enumerate(whole):
        ordered += [file, *others[number * apart : (number + 1) * apart]]
    ordered += others[len(whole) * apart :]
    items[:] = [item for file in ordered for item in by_file[file]]
