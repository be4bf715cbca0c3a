"""Telemetry into the database: about one transaction a second, on a thread of its own; raw samples for a day."""

import logging
import threading
import time
from typing import Final

from sqlalchemy import Connection, Engine, delete, select

from hub.fleet.state import NodeState
from hub.telemetry.models import TelemetrySample
from hub.telemetry.samples import SampleInsert, SampleRow, sample_row
from schemas import Leaf

WRITE_EVERY_S: Final = 1.0
MAX_WAITING: Final = 100_000
KEPT_S: Final = 86_400.0
PURGE_EVERY_S: Final = 300.0
PURGE_ROWS: Final = 20_000
STOP_DEADLINE_S: Final = 10.0

_TABLE = TelemetrySample.__table__  # type: ignore[attr-defined]

log = logging.getLogger(__name__)


class TelemetryService:
    """A fleet listener that stores, and the reader of what is stored."""

    def __init__(self, engine: Engine) -> None:
        self.stored = 0
        self.dropped = 0
        self._engine = engine
        self._insert = SampleInsert(engine)
        self._lock = threading.Lock()
        self._rows: list[SampleRow] = []
        self._next_purge_s = 0.0
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="telemetry", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Store what waits, then end the thread."""
        self._stopping.set()
        if self._thread.is_alive():
            self._thread.join(STOP_DEADLINE_S)

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        if leaf is not Leaf.TELEMETRY or node.telemetry is None:
            return
        row = sample_row(node.venue, node.node, int(now_s * 1000), node.telemetry)
        with self._lock:
            if len(self._rows) >= MAX_WAITING:
                self.dropped += 1
                return
            self._rows.append(row)

    def link_changed(self, connected: bool, now_s: float) -> None:
        pass

    def tick(self, now_s: float) -> None:
        pass

    def _run(self) -> None:
        while not self._stopping.wait(WRITE_EVERY_S):
            self._write()
        self._write()

    def _write(self) -> None:
        with self._lock:
            rows, self._rows = self._rows, []
        purge = time.monotonic() >= self._next_purge_s
        if not rows and not purge:
            return
        try:
            with self._engine.begin() as connection:
                if rows:
                    self._insert.execute(connection, rows)
                if purge:
                    self._purge(connection)
        except Exception:
            # Samples are lost, the hub is not.
            log.exception("telemetry not stored samples=%d", len(rows))
            with self._lock:
                self.dropped += len(rows)
        else:
            self.stored += len(rows)

    def _purge(self, connection: Connection) -> None:
        oldest_ms = int((time.time() - KEPT_S) * 1000)
        old = select(_TABLE.c.id).where(_TABLE.c.heard_at_ms < oldest_ms).limit(PURGE_ROWS)
        purged = connection.execute(delete(_TABLE).where(_TABLE.c.id.in_(old))).rowcount
        # More than a batch waits: the next write goes on, so that no transaction is long.
        self._next_purge_s = time.monotonic() + (0.0 if purged >= PURGE_ROWS else PURGE_EVERY_S)
