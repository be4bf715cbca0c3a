"""Telemetry in a real database: batches, a day of samples, bounded."""

import time
from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, col, func, select

from hub.fleet.state import NodeState
from hub.telemetry import TelemetryService
from hub.telemetry.models import TelemetrySample
from hub.telemetry.service import KEPT_S
from schemas import Leaf
from tests.hub.conftest import on_each_database
from tests.hub.played_node import telemetry
from tests.processes import wait_until

pytestmark = on_each_database
NOON_S = datetime(2031, 5, 1, 12, tzinfo=UTC).timestamp()


def say(service: TelemetryService, node: str, now_s: float = NOON_S, **changes: Any) -> None:  # noqa: ANN401 (any field)
    state = NodeState("arcade", node, telemetry=telemetry(**changes))
    service.node_changed(state, Leaf.TELEMETRY, now_s)


def samples(engine: Engine) -> int:
    with Session(engine) as session:
        return session.exec(select(func.count(col(TelemetrySample.id)))).one()


def stored(engine: Engine, *messages: dict[str, Any]) -> TelemetryService:
    """A service that has stored the messages and ended."""
    service = TelemetryService(engine)
    service.start()
    for message in messages:
        say(service, **message)
    service.stop()
    assert service.stored == len(messages)
    return service


def test_messages_are_stored_within_about_a_second_and_at_the_stop(engine: Engine) -> None:
    service = TelemetryService(engine)
    service.start()
    # Stamped now: a purge of what is older than a day must leave them.
    say(service, "bay-01", time.time())
    wait_until(lambda: samples(engine) == 1, 4)
    say(service, "bay-01", time.time())
    service.stop()
    assert samples(engine) == 2


def test_sample_holds_the_messages_figures(engine: Engine) -> None:
    two = [
        {"supply": "psu-1", "amps": 1.5, "highest_a": 2.0, "limiter_scale": 1.0, "wanted_a": 2.0, "charge_ah": 0.25},
        {"supply": "psu-2", "amps": 0.5, "highest_a": 0.5, "limiter_scale": 0.8, "wanted_a": 2.0, "charge_ah": 0.25},
    ]
    now_s = time.time()
    stored(engine, {"node": "bay-01", "now_s": now_s, "supplies": two})
    with Session(engine) as session:
        (row,) = session.exec(select(TelemetrySample)).all()
    assert (row.venue, row.node, row.heard_at_ms) == ("arcade", "bay-01", int(now_s * 1000))
    assert (row.amps, row.limiter_scale, row.frame_rate_hz, row.temperature_c) == (2.0, 0.8, 60.0, 41.5)


def test_samples_older_than_a_day_are_purged(engine: Engine) -> None:
    old_s = time.time() - KEPT_S - 60
    stored(engine, {"node": "bay-01", "now_s": old_s}, {"node": "bay-01", "now_s": time.time()})
    stored(engine, {"node": "bay-02", "now_s": time.time()})
    assert samples(engine) == 2


def test_what_waits_is_bounded_and_what_is_dropped_is_counted(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("hub.telemetry.service.MAX_WAITING", 10)
    service = TelemetryService(engine)
    for _ in range(25):
        say(service, "bay-01", time.time())
    assert service.dropped == 15
    service.start()
    service.stop()
    assert samples(engine) == 10


def test_database_that_fails_for_a_while_costs_samples_and_no_more(engine: Engine) -> None:
    service = TelemetryService(engine)
    with Session(engine) as session:
        session.connection().exec_driver_sql("ALTER TABLE telemetry_sample RENAME TO hidden")
        session.commit()
    service.start()
    say(service, "bay-01")
    wait_until(lambda: service.dropped == 1, 4)
    with Session(engine) as session:
        session.connection().exec_driver_sql("ALTER TABLE hidden RENAME TO telemetry_sample")
        session.commit()
    say(service, "bay-02", time.time())
    service.stop()
    assert (samples(engine), service.stored, service.dropped) == (1, 1, 1)
