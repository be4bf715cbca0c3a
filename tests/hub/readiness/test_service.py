"""What the hub stands on, part by part."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine

from hub.database import open_engine
from hub.readiness import ReadinessService, ReadinessView
from tests.processes import free_port


@pytest.fixture
def engine(tmp_path: Path) -> Engine:
    return open_engine(f"sqlite:///{tmp_path / 'hub.sqlite3'}")


@pytest.mark.parametrize(("link", "loop"), [(True, True), (False, True), (True, False)])
def test_ready_means_every_part(engine: Engine, link: bool, loop: bool) -> None:
    found = ReadinessService(engine, lambda: link, lambda: loop).look()
    assert found == ReadinessView(ready=link and loop, database=True, broker=link, loop=loop)


def test_database_that_does_not_answer_is_told() -> None:
    engine = open_engine(f"postgresql+psycopg://nobody@127.0.0.1:{free_port()}/none")
    found = ReadinessService(engine, lambda: True, lambda: True).look()
    assert found == ReadinessView(ready=False, database=False, broker=True, loop=True)


def test_strangers_cannot_make_the_database_busy(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    connections: list[Connection] = []

    def counted(connect: Callable[[], Connection] = engine.connect) -> Connection:
        connections.append(connect())
        return connections[-1]

    monkeypatch.setattr(engine, "connect", counted)
    service = ReadinessService(engine, lambda: True, lambda: True)
    service.look()
    callers = [threading.Thread(target=service.look) for _ in range(50)]
    for caller in callers:
        caller.start()
    for caller in callers:
        caller.join()
    assert len(connections) == 1
