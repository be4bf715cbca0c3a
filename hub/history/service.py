"""History: gathered on the fleet loop's thread, written once a second by another, which closes hours and forgets."""

import logging
import threading
import time
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from sqlalchemy import Connection, Engine

from hub.fleet.state import FleetState, NodeState
from hub.history.closing import close_a_part
from hub.history.counting import Counting
from hub.history.gathering import HEARD_EVERY_S, Gathered, Gathering, HeardMinute, Sampled
from hub.history.levels import HistoryLevel, Retention
from hub.history.quantities import COLUMN, COLUMNS, Quantity, SubjectKind
from hub.history.rows import Rows
from hub.history.sampler import MISSED_INTERVALS
from hub.history.samples import Samples, samples_of
from hub.history.series import Series, grid_of, read_rows, series_of
from hub.history.table import add_to_journal, number_subjects, one_moment, purge_blocks, subject_number
from schemas import Leaf, Venue

WRITE_EVERY_S: Final = 1.0
MAX_UNWRITTEN: Final = 400_000
TRY_AGAIN_S: Final = 60.0
PURGE_EVERY_S: Final = 3_600.0
STOP_DEADLINE_S: Final = 10.0

log = logging.getLogger(__name__)


class HistoryService:
    """A fleet listener that keeps what is told, and the reader of what is kept.

    `stored` counts messages in the database, `dropped` those that found no room: while the database is away up to
    `MAX_UNWRITTEN` samples wait for it.
    """

    def __init__(
        self,
        engine: Engine,
        fleet: FleetState,
        telemetry_interval_s: float,
        retention: Retention | None = None,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self.stored = 0
        self._engine = engine
        self._retention = retention or Retention()
        self._clock = clock
        self._shortest_ms = round(MISSED_INTERVALS * telemetry_interval_s * 1_000)
        self._heard_every_s = max(HEARD_EVERY_S, MISSED_INTERVALS * telemetry_interval_s)
        self._gathering = Gathering(fleet, telemetry_interval_s, self._heard_every_s)
        self._writing = threading.Lock()
        self._counting = Counting()
        self._numbers: list[int] = []  # of the subjects, by slot
        self._unwritten: list[tuple[Samples, int]] = []  # subjects still as slots; messages among them
        self._overflowed = 0
        self._next_closing_s = 0.0
        self._next_purge_s = dict.fromkeys(HistoryLevel, 0.0)
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="history", daemon=True)

    @property
    def dropped(self) -> int:
        """Messages that are in no history."""
        return self._gathering.dropped + self._overflowed

    @property
    def waiting(self) -> int:
        """Messages that are not in the database yet."""
        return self._gathering.waiting + sum(messages for _, messages in self._unwritten)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Store what waits, then end the thread."""
        self._stopping.set()
        if self._thread.is_alive():
            self._thread.join(STOP_DEADLINE_S)

    def venue_changed(self, venue: Venue) -> None:
        """Take in a venue's supplies and their budgets; from any thread."""
        self._gathering.venue_changed(venue)

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        if leaf is Leaf.TELEMETRY:
            self._gathering.hear(node, now_s)

    def link_changed(self, connected: bool, now_s: float) -> None:
        pass

    def tick(self, now_s: float) -> None:
        self._gathering.tick(now_s)

    def series(
        self,
        venue: str,
        kind: SubjectKind,
        subject: str,
        quantities: Sequence[Quantity],
        from_ms: int,
        until_ms: int,
        points: int,
    ) -> Series:
        """At most `points` (2 or more) points of the time from `from_ms` to before `until_ms`, of the level that suits.

        Up to the newest second or so. Of a subject without history all points are empty.
        """
        grid = grid_of(
            from_ms,
            until_ms,
            points,
            now_ms=self.now_ms(),
            retention=self._retention,
            shortest_ms=round(self._heard_every_s * 1_000) if Quantity.HEARD in quantities else self._shortest_ms,
        )
        with one_moment(self._engine) as connection:
            number = subject_number(connection, (venue, kind, subject))
            rows = Rows.none() if number is None else read_rows(connection, number, grid)
        return series_of(rows, grid, quantities)

    def knows(self, venue: str, kind: SubjectKind, subject: str) -> bool:
        """Whether it has a history."""
        with self._engine.connect() as connection:
            return subject_number(connection, (venue, kind, subject)) is not None

    def now_ms(self) -> int:
        return round(self._clock() * 1_000)

    def write(self) -> None:
        """Store what was gathered, in one transaction; a failure is logged, and the samples wait."""
        with self._writing:
            self._hold(self._gathering.take())
            if not self._unwritten:
                return
            try:
                with self._engine.begin() as connection:
                    numbers = self._numbered(connection)
                    samples = np.concatenate([samples for samples, _ in self._unwritten])
                    samples["subject"] = np.array(numbers, np.uint32)[samples["subject"]]
                    add_to_journal(connection, samples)
            except Exception:
                log.exception("history not stored yet messages=%d", sum(number for _, number in self._unwritten))
                return
            self._numbers = numbers
            self.stored += sum(messages for _, messages in self._unwritten)
            self._unwritten = []

    def close_hours(self) -> bool:
        """Close a part of an hour that is over, if there is any; whether there was. A failure is logged."""
        with self._writing:
            try:
                return close_a_part(self._engine, self.now_ms())
            except Exception:
                log.exception("an hour of history is not closed yet; tried again in %.0f s", TRY_AGAIN_S)
                self._next_closing_s = time.monotonic() + TRY_AGAIN_S
                return False

    def forget(self) -> None:
        """Delete some of what is kept no longer, where it is due. A failure is logged."""
        now_s = time.monotonic()
        for level in [level for level, due_s in self._next_purge_s.items() if now_s >= due_s]:
            oldest_ms = self._retention.oldest_ms(level, self.now_ms())
            try:
                with self._engine.begin() as connection:
                    more = purge_blocks(connection, level, oldest_ms)
            except Exception:
                log.exception("old history is not deleted yet level=%s", level)
                more = False
            self._next_purge_s[level] = now_s if more else now_s + PURGE_EVERY_S

    def _run(self) -> None:
        while not self._stopping.wait(WRITE_EVERY_S):
            self.write()
            if time.monotonic() >= self._next_closing_s:
                self.close_hours()
            self.forget()
        self.write()

    def _hold(self, gathered: Gathered) -> None:
        """What was gathered as samples that wait."""
        parts: list[tuple[Samples, int]] = []
        if gathered.told:
            parts.append((self._counting.samples(gathered.told), len(gathered.told)))
        if gathered.sampled:
            parts.append((_samples(gathered.sampled), 0))
        if gathered.heard is not None and gathered.heard.slots:
            heard = self._heard(gathered.heard)
            if gathered.heard.whole:
                parts.append((heard, 0))
        held = sum(len(samples) for samples, _ in self._unwritten)
        for samples, messages in parts:
            if held + len(samples) > MAX_UNWRITTEN:
                self._overflowed += messages
            else:
                self._unwritten.append((samples, messages))
                held += len(samples)

    def _heard(self, minute: HeardMinute) -> Samples:
        slots = np.array(minute.slots, dtype=np.intp)
        values = np.full((len(slots), len(COLUMNS)), np.nan)
        values[:, COLUMN[Quantity.HEARD]] = self._counting.heard_shares(slots)
        # Within the minute that it tells of.
        return samples_of(slots, np.full(len(slots), minute.ended_s - 0.001), values)

    def _numbered(self, connection: Connection) -> list[int]:
        new = self._gathering.names[len(self._numbers) :]
        return self._numbers + number_subjects(connection, new) if new else self._numbers


def _samples(sampled: Sequence[Sampled]) -> Samples:
    slots = np.array([one.slot for one in sampled], dtype=np.intp)
    at_s = np.array([one.at_s for one in sampled])
    return samples_of(slots, at_s, np.array([one.values for one in sampled], dtype=np.float64))
