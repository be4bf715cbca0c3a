"""The hub killed (SIGKILL) again and again at full load, while boards fall silent and come back: its database opens
each time, and each fault is told by one finding, opened as often as the fault came and no more.

The hub is the real process, the broker the real server. Boards are played by one connection that publishes in their
names, as a broker publishes their wills.
"""

import os
import random
import sqlite3
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from urllib.parse import quote

import pytest

from hub.database import open_database
from hub.health.kinds import Change
from hub.inventory.service import InventoryService
from schemas import Leaf, Presence, Venue, node_topic
from tests.bench.ingest_flood import Place, connect, publish_packet
from tests.brokers import HUB_USER, hub_account
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.played_node import telemetry
from tests.nats_broker import NatsServer
from tests.processes import free_port, wait_until
from tests.warm_process import WarmProcess

KILLS = int(os.environ.get("STRINGCOURSE_KILLS", "2"))
VENUE = "arcade"
BOOT = "0123456789abcdef"
ROW = 3
"""Boards of one supply, which fall silent together; beside them one that is alone."""

QUIET_S = 1.0
FLOOD_S = 0.005
FLOOD_MESSAGES = 120
"""Every `FLOOD_S`: 24,000 a second, about what a hub can take."""

TOLD_WITHIN_S = 40.0  # after a start boards have 12 s before their silence counts


def names() -> list[str]:
    return [f"bay-{number:04d}" for number in range(1, KILLS * (ROW + 1) + 1)]


def members(kill: int) -> list[str]:
    """The row that falls silent with this kill, on the supply `row-<kill>`."""
    return names()[kill * (ROW + 1) :][:ROW]


def alone(kill: int) -> str:
    return names()[kill * (ROW + 1) + ROW]


class Boards:
    """Every board of the venue: presence, and telemetry at full load or once a second, from a thread of its own."""

    def __init__(self, place: Place) -> None:
        self.at_full_load = False
        self._connection = connect(place)
        self._lock = threading.Lock()
        self._sessions = dict.fromkeys(names(), 0)
        self._sequences = dict.fromkeys(names(), 0)
        self._speaking: set[str] = set()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._speak, daemon=True)
        self._thread.start()
        self.come(names())

    def come(self, boards: list[str]) -> None:
        """Each in a new session."""
        with self._lock:
            for board in boards:
                self._sessions[board] = (self._sessions[board] + 1) % 256
                self._sequences[board] = 0
            self._say(boards, "online")
            self._speaking |= set(boards)

    def fall_silent(self, boards: list[str]) -> None:
        """Their last wills."""
        with self._lock:
            self._speaking -= set(boards)
            self._say(boards, "offline")

    def close(self) -> None:
        self._ended.set()
        self._thread.join(5)
        self._connection.close()

    def _say(self, boards: list[str], state: str) -> None:
        packets = []
        for board in boards:
            words = Presence.model_validate(
                {"state": state, "boot_id": BOOT, "session": self._sessions[board], "agent_version": "0.1.0"}
            )
            topic = node_topic(VENUE, board, Leaf.PRESENCE)
            packets.append(publish_packet(topic, words.model_dump_json().encode(), retain=True))
        self._connection.sendall(b"".join(packets))

    def _speak(self) -> None:
        template = telemetry(boot_id=BOOT, session=0).model_dump_json()
        template = template.replace('"session":0', '"session":%d').replace('"sequence":0', '"sequence":%d')
        while not self._ended.wait(FLOOD_S if self.at_full_load else QUIET_S):
            with self._lock:
                rounds = FLOOD_MESSAGES // len(self._speaking) if self.at_full_load else 1
                packets = []
                for board in sorted(self._speaking) * max(1, rounds):
                    words = template % (self._sessions[board], self._sequences[board])
                    self._sequences[board] = (self._sequences[board] + 1) % 256
                    packets.append(publish_packet(node_topic(VENUE, board, Leaf.TELEMETRY), words.encode()))
                self._connection.sendall(b"".join(packets))


class KilledHub:
    """`stringcourse up` on one data folder, and what its database says of silent boards."""

    def __init__(self, folder: Path, place: Place) -> None:
        self._folder = folder
        self._broker = f"mqtt://{HUB_USER}:{quote(place.secret, safe='')}@{place.host}:{place.port}"
        self._database = folder / "hub" / "hub.sqlite3"
        self._starts = 0
        self._process: WarmProcess | None = None
        self._database.parent.mkdir()
        engine = open_database(f"sqlite:///{self._database}")
        InventoryService(engine).load(arcade())
        engine.dispose()

    def start(self) -> None:
        self._starts += 1
        words: list[str | Path] = ["stringcourse", "up", "--data", self._folder / "hub", "--port", str(free_port())]
        log = self._folder / f"hub-{self._starts}.log"
        self._process = WarmProcess(words, log, {"STRINGCOURSE_BROKER": self._broker})

    def kill(self) -> None:
        assert self._process is not None
        assert self._process.exit_code is None, self._process.output()[-2_000:]
        self._process.kill()

    def stop(self) -> None:
        if self._process is not None:
            self._process.stop(20)

    def read(self, query: str) -> list[tuple[object, ...]]:
        with closing(sqlite3.connect(f"file:{self._database}?mode=ro", uri=True, timeout=10)) as connection:
            return connection.execute(query).fetchall()

    def silent(self) -> tuple[set[object], set[object]]:
        """Boards with an open finding of their own, and with one that their supply's stands for."""
        rows = self.read("SELECT node, folded_into FROM finding WHERE kind = 'silent' AND ended_at_ms IS NULL")
        own = {node for node, _ in rows if node is not None}
        return own, {node for node, folded_into in rows if folded_into is not None}

    def check_after_kill(self) -> None:
        """What was written is whole: sound pages, changes that lead to what stands in the findings."""
        assert self.read("PRAGMA integrity_check") == [("ok",)]
        changes: dict[object, list[object]] = {}
        for finding, change in self.read("SELECT finding, change FROM finding_change ORDER BY id"):
            changes.setdefault(finding, []).append(change)
        for row, openings, ended_at_ms in self.read("SELECT id, openings, ended_at_ms FROM finding"):
            told = [one for one in changes.pop(row) if one in (Change.OPENED, Change.REOPENED, Change.ENDED)]
            expected = [Change.OPENED, *[Change.ENDED, Change.REOPENED] * (int(str(openings)) - 1)]
            assert told == expected + ([] if ended_at_ms is None else [Change.ENDED]), row
        assert not changes, "changes of findings that are not there"


def arcade() -> Venue:
    """All invented: rows of three boards that one supply powers, and a board alone beside each."""
    document = row_document(len(names()), pixels=10)
    for kill in range(KILLS):
        document["supplies"].append({"id": f"row-{kill}", "volts": 5.0, "rated_a": 4.0})
        for node in document["nodes"]:
            if node["id"] in members(kill):
                node["powered_by"] = f"row-{kill}"
    return venue_from(document)


@contextmanager
def open_arcade(folder: Path) -> Iterator[tuple[KilledHub, Boards]]:
    with ExitStack() as parts:
        account = hub_account()
        broker = NatsServer(folder / "broker", [account])
        broker.start()
        parts.callback(broker.stop)
        place = Place(broker.host, broker.port, account.secret)
        hub = KilledHub(folder, place)
        parts.callback(hub.stop)
        boards = Boards(place)
        parts.callback(boards.close)
        yield hub, boards


@pytest.mark.timeout(60 + 60 * KILLS)
def test_kills_at_full_load_lose_and_double_no_finding(tmp_path: Path) -> None:
    draw = random.Random(6)
    faults: Counter[str] = Counter()
    with open_arcade(tmp_path) as (hub, boards):
        hub.start()
        wait_until(lambda: hub.read("SELECT 1 FROM history_journal LIMIT 1"), 30, "telemetry in the database")
        for kill in range(KILLS):
            # The one that was alone with the kill before falls silent again: the same finding, opened again.
            falling = [*members(kill), alone(kill), *([alone(kill - 1)] if kill else [])]
            faults.update(falling)
            in_opening = kill % 2 == 0
            if in_opening:
                _kill_in_flood(hub, boards, lambda: boards.fall_silent(falling), draw.uniform(0.8, 2.5))  # noqa: B023
            else:
                boards.fall_silent(falling)
            wait_until(lambda: hub.silent() == (set(falling), set(members(kill))), TOLD_WITHIN_S, f"faults {kill}")  # noqa: B023
            if in_opening:
                boards.come(falling)
            else:
                _kill_in_flood(hub, boards, lambda: boards.come(falling), draw.uniform(2.5, 4.5))  # noqa: B023
            wait_until(lambda: hub.silent() == (set(), set()), TOLD_WITHIN_S, f"the end of faults {kill}")
        hub.stop()
        hub.check_after_kill()
        openings = hub.read(
            "SELECT node, openings FROM finding WHERE kind = 'silent' AND node IS NOT NULL ORDER BY node"
        )
        assert openings == sorted(faults.items())
        parents = hub.read("SELECT cause, openings FROM finding WHERE kind = 'silent' AND node IS NULL ORDER BY id")
        assert parents == [(f"row-{kill}", 1) for kill in range(KILLS)]


def _kill_in_flood(hub: KilledHub, boards: Boards, change: Callable[[], None], after_s: float) -> None:
    """At full load something changes; some time later, which is what the draw decides, the hub is killed."""
    boards.at_full_load = True
    change()
    time.sleep(after_s)
    hub.kill()
    boards.at_full_load = False
    hub.check_after_kill()
    hub.start()
