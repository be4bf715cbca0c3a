"""Load of supplies over time: sampled once a second on the fleet loop's tick, stored once a minute."""

import logging
import threading
import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Final

from sqlalchemy import Engine

from hub.energy.days import day_before, day_of
from hub.fleet.lifeline import time_leapt
from hub.fleet.state import FleetState, NodeState
from hub.load.sampler import LoadBatch, VenueSampler
from hub.load.table import SupplyLoad, add_samples, load_by_supply, purge
from schemas import Leaf, Venue

SAMPLE_EVERY_S: Final = 1.0
WRITE_EVERY_S: Final = 60.0
KEPT_DAYS: Final = 30
PURGE_EVERY_S: Final = 3_600.0
MAX_BATCHES: Final = 100
STOP_DEADLINE_S: Final = 10.0

log = logging.getLogger(__name__)


class LoadService:
    """A fleet listener (of ticks alone) that samples, and the reader of what was sampled."""

    def __init__(
        self, engine: Engine, fleet: FleetState, telemetry_interval_s: float, clock: Callable[[], float] = time.time
    ) -> None:
        self._engine = engine
        self._fleet = fleet
        self._telemetry_interval_s = telemetry_interval_s
        self._clock = clock
        self._lock = threading.Lock()  # over samplers and batches: the loop adds, whoever writes takes
        self._writing = threading.Lock()
        self._samplers: dict[str, VenueSampler] = {}
        self._open: dict[str, LoadBatch] = {}
        self._closed: list[LoadBatch] = []
        self._sampled_s: float | None = None
        self._next_purge_s = 0.0
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="load", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Store what was sampled, then end the thread."""
        self._stopping.set()
        if self._thread.is_alive():
            self._thread.join(STOP_DEADLINE_S)

    def venue_changed(self, venue: Venue) -> None:
        """Take in a venue's supplies and who draws from them; from any thread. Its nodes are heard anew."""
        sampler = VenueSampler(venue, self._telemetry_interval_s)
        self.write()
        with self._lock:
            self._close(venue.id)
            self._samplers[venue.id] = sampler

    def load(self, venue: str) -> Mapping[str, SupplyLoad]:
        """Load of each supply over the last 30 days (UTC), up to now; supplies never heard of are absent."""
        self.write()
        with self._engine.connect() as connection:
            return load_by_supply(connection, venue, self._oldest())

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        pass

    def link_changed(self, connected: bool, now_s: float) -> None:
        pass

    def tick(self, now_s: float) -> None:
        before_s = self._sampled_s
        if before_s is not None and 0 <= now_s - before_s < SAMPLE_EVERY_S:
            return
        self._sampled_s = now_s
        leapt = time_leapt(before_s, now_s)
        with self._lock:
            for node in self._fleet.nodes.values():
                sampler = self._samplers.get(node.venue)
                if sampler is not None:
                    sampler.hear(node)
            for venue, sampler in self._samplers.items():
                if leapt:
                    sampler.time_leapt(now_s)
                elif before_s is not None:
                    sampler.sample(now_s, now_s - before_s, self._batch(venue, day_of(now_s, UTC)))

    def write(self) -> None:
        """Store what was sampled, in one transaction; a failure is logged, and the samples wait."""
        with self._writing:
            with self._lock:
                for venue in list(self._open):
                    self._close(venue)
                batches, self._closed = self._closed, []
            due = time.monotonic() >= self._next_purge_s
            if not batches and not due:
                return
            try:
                with self._engine.begin() as connection:
                    add_samples(connection, batches)
                    if due:
                        purge(connection, self._oldest())
                        self._next_purge_s = time.monotonic() + PURGE_EVERY_S
            except Exception:
                log.exception("load not stored yet batches=%d", len(batches))
                with self._lock:
                    for batch in batches:
                        self._keep(batch)

    def _run(self) -> None:
        while not self._stopping.wait(WRITE_EVERY_S):
            self.write()
        self.write()

    def _oldest(self) -> str:
        return day_before(datetime.fromtimestamp(self._clock(), UTC).date(), KEPT_DAYS - 1).isoformat()

    def _batch(self, venue: str, day: str) -> LoadBatch:
        """The batch that is being filled; of each day its own."""
        batch = self._open.get(venue)
        if batch is None or batch.day != day:
            self._close(venue)
            batch = self._open[venue] = self._samplers[venue].new_batch(day)
        return batch

    def _close(self, venue: str) -> None:
        batch = self._open.pop(venue, None)
        if batch is not None:
            self._keep(batch)

    def _keep(self, batch: LoadBatch) -> None:
        """For the next write. While the database is away a day stays one batch; the oldest of too many is lost."""
        if not any(held.absorb(batch) for held in self._closed):
            self._closed = [*self._closed, batch][-MAX_BATCHES:]
