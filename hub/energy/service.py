"""Energy by supply, node and day: what boards tell is kept at once, counted in one transaction every few seconds."""

import collections
import logging
import threading
import time
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, tzinfo
from typing import Final

from sqlalchemy import Engine

from hub.energy.counting import Counted, Counter, Disbelief, Told, count
from hub.energy.days import DAY_S, day_before, shares_by_day
from hub.energy.ratings import NO_RATINGS, SupplyRatings
from hub.energy.table import (
    CounterKey,
    DayKey,
    Drawn,
    EnergyBy,
    EnergySum,
    add_drawn,
    energy_sums,
    purge,
    read_counters,
    write_counters,
)
from hub.fleet.state import FleetState, NodeState
from schemas import Leaf, Telemetry, Venue

KEEP_EVERY_S: Final = 1.0
WRITE_EVERY_S: Final = 10.0
KEPT_DAYS: Final = 3 * 366
PURGE_EVERY_S: Final = 86_400.0
MAX_BOOTS_WAITING: Final = 8
STOP_DEADLINE_S: Final = 10.0

_Waiting = dict[tuple[str, str], list[tuple[Telemetry, float]]]  # by venue and node, the newest word of each boot

log = logging.getLogger(__name__)


class EnergyService:
    """A fleet listener (of presence alone) that counts, and the reader of what was counted.

    The loop's thread only looks once a second what each node told last: a message costs nothing. Counters live in the
    database alone, beside the sums: a hub that ends, or a transaction that fails, leaves both as they were, and the
    next word brings the charge since.
    """

    def __init__(self, engine: Engine, fleet: FleetState, clock: Callable[[], float] = time.time) -> None:
        self.disbelieved: collections.Counter[Disbelief] = collections.Counter()
        self._engine = engine
        self._fleet = fleet
        self._clock = clock
        self._lock = threading.Lock()
        self._writing = threading.Lock()
        self._kept_s = 0.0
        self._kept: dict[tuple[str, str], Telemetry] = {}
        self._waiting: _Waiting = {}
        self._ratings: dict[str, SupplyRatings] = {}
        self._next_purge_s = 0.0
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="energy", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Count what waits, then end the thread. The loop has ended, or does not run yet."""
        self.keep()
        self._stopping.set()
        if self._thread.is_alive():
            self._thread.join(STOP_DEADLINE_S)

    def venue_changed(self, venue: Venue) -> None:
        """Take in a venue's supplies; from any thread. What was told before is counted by what held before."""
        self.write()
        with self._lock:
            self._ratings[venue.id] = SupplyRatings.of(venue)

    def sums(self, venue: str, first: date, last: date, by: EnergyBy) -> list[EnergySum]:
        """What was drawn on the local days `first` to `last`, both counted, up to the newest word."""
        self.write()
        with self._engine.connect() as connection:
            return energy_sums(connection, venue, first, last, by)

    def today(self, venue: str) -> date:
        """By the venue's time zone."""
        return datetime.fromtimestamp(self._clock(), self._ratings.get(venue, NO_RATINGS).zone).date()

    def node_changed(self, node: NodeState, _leaf: Leaf, _now_s: float) -> None:
        """A birth may begin another boot, whose telemetry takes the place of this one's last."""
        with self._lock:
            self._keep(node)

    def link_changed(self, connected: bool, now_s: float) -> None:
        pass

    def tick(self, now_s: float) -> None:
        if not 0 <= now_s - self._kept_s < KEEP_EVERY_S:
            self._kept_s = now_s
            self.keep()

    def keep(self) -> None:
        """Take in each node's newest word; on the loop's thread, or where there is none."""
        with self._lock:
            for node in self._fleet.nodes.values():
                self._keep(node)
            if len(self._kept) > len(self._fleet.nodes):
                self._kept = {key: telemetry for key, telemetry in self._kept.items() if key in self._fleet.nodes}

    def write(self) -> None:
        """Count what waits, in one transaction; a failure is logged, and what waited waits on."""
        with self._writing:
            with self._lock:
                waiting, self._waiting = self._waiting, {}
            due = time.monotonic() >= self._next_purge_s
            if not waiting and not due:
                return
            try:
                self._count(waiting, purge_too=due)
            except Exception:
                log.exception("energy not counted yet nodes=%d", len(waiting))
                self._put_back(waiting)

    def _run(self) -> None:
        while not self._stopping.wait(WRITE_EVERY_S):
            self.write()
        self.write()

    def _keep(self, node: NodeState) -> None:
        telemetry, at_s = node.telemetry, node.telemetry_at_s
        if telemetry is None or at_s is None or telemetry is self._kept.get(node.key):
            return
        self._kept[node.key] = telemetry
        words = self._waiting.get(node.key)
        if words is None:
            self._waiting[node.key] = [(telemetry, at_s)]
        elif words[-1][0].boot_id == telemetry.boot_id:
            if telemetry.uptime_s >= words[-1][0].uptime_s:
                words[-1] = (telemetry, at_s)
        elif len(words) < MAX_BOOTS_WAITING and all(word.boot_id != telemetry.boot_id for word, _ in words):
            words.append((telemetry, at_s))

    def _put_back(self, waiting: _Waiting) -> None:
        """Before what was told since."""
        with self._lock:
            for key, words in self._waiting.items():
                newer = {word.boot_id for word, _ in words}
                older = [word for word in waiting.get(key, ()) if word[0].boot_id not in newer]
                waiting[key] = (older + words)[-MAX_BOOTS_WAITING:]
            self._waiting = waiting

    def _count(self, waiting: _Waiting, *, purge_too: bool) -> None:
        with self._engine.begin() as connection:
            if waiting:
                counters = read_counters(connection, {venue for venue, _ in waiting})
                moved, drawn = self._drawn(waiting, counters)
                write_counters(connection, moved)
                add_drawn(connection, drawn)
            if purge_too:
                now_s = self._clock()
                oldest = day_before(datetime.fromtimestamp(now_s, UTC).date(), KEPT_DAYS).isoformat()
                purge(connection, oldest, now_s - KEPT_DAYS * DAY_S)
                self._next_purge_s = time.monotonic() + PURGE_EVERY_S

    def _drawn(
        self, waiting: _Waiting, counters: Mapping[CounterKey, Counter]
    ) -> tuple[dict[CounterKey, Counter], dict[DayKey, Drawn]]:
        """Counters that moved, and what is new on each day."""
        moved: dict[CounterKey, Counter] = {}
        drawn: dict[DayKey, Drawn] = {}
        for (venue, node), words in waiting.items():
            ratings = self._ratings.get(venue, NO_RATINGS)
            for telemetry, heard_at_s in words:
                for one in telemetry.supplies:
                    key = (venue, node, one.supply)
                    before = moved.get(key) or counters.get(key)
                    if not ratings.counts(node, one.supply, known=before is not None):
                        continue
                    rated_a, volts = ratings.supplies[one.supply]
                    told = Told(telemetry.boot_id, one.charge_ah, telemetry.uptime_s, heard_at_s)
                    counted = count(before, told, rated_a)
                    if isinstance(counted, Disbelief):
                        self._disbelieve(counted, key)
                    else:
                        moved[key] = counted.counter
                        _add(drawn, key, counted, volts, ratings.zone)
        return moved, drawn

    def _disbelieve(self, why: Disbelief, key: CounterKey) -> None:
        self.disbelieved[why] += 1
        if self.disbelieved[why] == 1:
            log.warning("charge not believed why=%s venue=%s node=%s supply=%s (counted from now on)", why, *key)


def _add(drawn: dict[DayKey, Drawn], key: CounterKey, counted: Counted, volts: float, zone: tzinfo) -> None:
    """Onto the days in which it was drawn."""
    venue, node, supply = key
    for day, share in shares_by_day(counted.counter.told.heard_at_s, counted.hours * 3_600, zone):
        total = drawn.setdefault((venue, day, supply, node), Drawn())
        total.amp_h += counted.amp_h * share
        total.watt_h += counted.amp_h * share * volts
        total.hours += counted.hours * share
