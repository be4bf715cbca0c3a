"""The metrics as text, at most a second old."""

import threading
import time
from collections import Counter
from importlib import metadata
from typing import Final

from prometheus_client import CollectorRegistry
from prometheus_client.openmetrics.exposition import generate_latest

from hub.fleet.loop import FleetLoop
from hub.health.service import HealthService
from hub.history import HistoryService
from hub.inventory.service import InventoryService
from hub.link.link import Link
from hub.metrics.collector import SnapshotCollector
from hub.metrics.snapshot import NodeReading, Snapshot, reading_of

KEPT_S: Final = 1.0


class MetricsService:
    """However many collect at once, one of them makes the text and the others wait for it."""

    def __init__(
        self, loop: FleetLoop, inventory: InventoryService, health: HealthService, history: HistoryService, link: Link
    ) -> None:
        self._loop = loop
        self._inventory = inventory
        self._health = health
        self._history = history
        self._link = link
        self._version = metadata.version("stringcourse")
        self._making = threading.Lock()
        self._made_s = -KEPT_S
        self._text = b""

    def text(self) -> bytes:
        """OpenMetrics 1.0. Raises UnavailableError where the loop or the database does not answer."""
        with self._making:
            if time.monotonic() - self._made_s >= KEPT_S:
                registry = CollectorRegistry(auto_describe=False)
                registry.register(SnapshotCollector(self._snapshot(), self._version))
                self._text = generate_latest(registry)  # type: ignore[no-untyped-call]
                self._made_s = time.monotonic()
            return self._text

    def _snapshot(self) -> Snapshot:
        venues = self._inventory.venue_ids()
        supplies = {venue: frozenset(supply.id for supply in self._inventory.venue(venue).supplies) for venue in venues}

        def read(_now_s: float) -> tuple[tuple[NodeReading, ...], Counter[str]]:
            state = self._loop.state
            return tuple(map(reading_of, state.nodes.values())), state.rejected.copy()

        nodes, rejected = self._loop.call(read)
        return Snapshot(
            nodes=nodes,
            supplies=supplies,
            findings={venue: self._health.open_counts(venue) for venue in venues},
            link_is_up=self._link.connected,
            messages_rejected=rejected,
            messages_dropped=self._loop.inbox.dropped,
            telemetry_stored=self._history.stored,
            telemetry_unstored=self._history.dropped,
        )
