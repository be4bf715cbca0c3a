"""Notification in a process that is killed (SIGKILL) again and again as it works: nothing is lost, nothing doubled."""

import json
import multiprocessing
import os
import random
import signal
import threading
import time
from collections import defaultdict
from pathlib import Path

from sqlalchemy import text

from hub.database import open_database, open_engine
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.health.service import HealthService
from hub.inventory.service import InventoryService
from hub.notify.making import Settling
from hub.notify.service import NotifyService
from tests.hub.notify.receiver import Request, open_receiver
from tests.hub.notify.told import House
from tests.processes import wait_until

KILLS = int(os.environ.get("STRINGCOURSE_KILLS", "3"))
FINDINGS_A_KILL = 25
LONGEST_S = 60.0


def serve(database_url: str) -> None:
    """In the process that is killed: notification alone, by the clock, telling at once."""
    engine = open_engine(database_url)
    health = HealthService(
        engine, FleetLoop(), EventBus(), telemetry_interval_s=5.0, desired_revision=lambda _venue, _node: None
    )
    NotifyService(engine, InventoryService(engine), health, lambda: True, settling=Settling(0, 0)).start()
    threading.Event().wait()


def test_kills_lose_and_double_no_notice(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'hub.sqlite3'}"
    engine = open_database(url)
    context = multiprocessing.get_context("forkserver")
    with open_receiver() as receiver:
        house = House(engine, now_ms=round(time.time() * 1_000))
        house.add(url=receiver.address)
        draw = random.Random(1)

        def answers(_request: Request) -> int:
            time.sleep(draw.uniform(0, 0.01))  # a kill can come while an answer is on its way
            return 200

        receiver.answers = answers
        findings: list[int] = []
        for kill in range(KILLS + 1):
            child = context.Process(target=serve, args=(url,), daemon=True)
            child.start()
            try:
                before = len(receiver.got)
                findings += [house.open() for _ in range(FINDINGS_A_KILL)]
                wanted = draw.randint(1, FINDINGS_A_KILL // 2)
                wait_until(lambda: len(receiver.got) >= before + wanted, LONGEST_S, f"notices after kill {kill}")  # noqa: B023
                if kill == KILLS:
                    delivered = [("desk", "opened", finding, "delivered") for finding in findings]
                    wait_until(lambda: house.notices() == delivered, LONGEST_S, "everything to arrive")  # noqa: B023
            finally:
                assert child.pid is not None
                os.kill(child.pid, signal.SIGKILL)
                child.join()
    with engine.connect() as connection:
        assert connection.scalar(text("PRAGMA integrity_check")) == "ok"
    engine.dispose()
    keys: dict[str, set[str]] = defaultdict(set)
    for request in receiver.got:
        told = json.loads(request.body)
        keys[told["finding"]["id"]].add(told["id"])
    # A notice whose answer a kill cut off comes again, under the same key; no finding has two.
    assert {finding: len(own) for finding, own in keys.items()} == {str(finding): 1 for finding in findings}
    assert len(receiver.got) <= len(findings) + KILLS
