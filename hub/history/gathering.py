"""What the fleet loop's thread does for history: an append a message, samples of what no node tells alone."""

import threading
from dataclasses import dataclass
from typing import Final

from hub.fleet.lifeline import time_leapt
from hub.fleet.state import FleetState, NodeState
from hub.history.quantities import SubjectKind
from hub.history.sampler import FleetSampler, Values
from hub.history.samples import Told, told
from hub.history.table import SubjectName
from schemas import Venue

MAX_WAITING: Final = 100_000
HEARD_EVERY_S: Final = 60.0


@dataclass(frozen=True, slots=True)
class Sampled:
    """What a subject, by its slot, was at a show time."""

    slot: int
    at_s: float
    values: Values


@dataclass(frozen=True, slots=True)
class HeardMinute:
    """A minute is over, in which these nodes, by their slots, had to be heard; `whole`: nothing of it was missed."""

    ended_s: float
    slots: tuple[int, ...]
    whole: bool


@dataclass(frozen=True, slots=True)
class Gathered:
    """Messages in the order in which they came; samples; the minute that ended meanwhile."""

    told: list[Told]
    sampled: list[Sampled]
    heard: HeardMinute | None


class Gathering:
    """Filled by the loop's thread, emptied by `take` from another. A subject's slot stays its own in this process."""

    def __init__(self, fleet: FleetState, telemetry_interval_s: float, heard_every_s: float) -> None:
        self.dropped = 0
        self.names: list[SubjectName] = []
        self._fleet = fleet
        self._interval_s = telemetry_interval_s
        self._heard_every_s = heard_every_s
        self._sampler = FleetSampler(fleet, telemetry_interval_s)
        self._lock = threading.Lock()
        self._slots: dict[SubjectName, int] = {}
        self._node_slots: dict[tuple[str, str], int] = {}
        self._told: list[Told] = []
        self._sampled: list[Sampled] = []
        self._heard: HeardMinute | None = None
        self._ticked_s: float | None = None
        self._sampled_s = 0.0
        self._minute_ends_s = 0.0
        self._whole = False

    @property
    def waiting(self) -> int:
        """Messages that nobody took yet."""
        return len(self._told)

    def venue_changed(self, venue: Venue) -> None:
        """From any thread."""
        self._sampler.venue_changed(venue)

    def hear(self, node: NodeState, now_s: float) -> None:
        """A telemetry message; dropped and counted while too many wait."""
        telemetry = node.telemetry
        if telemetry is None:
            return
        if len(self._told) >= MAX_WAITING:
            self.dropped += 1
            return
        slot = self._node_slots.get(node.key)
        if slot is None:
            slot = self._node_slots[node.key] = self._slot((node.venue, SubjectKind.NODE, node.node))
        one = told(slot, now_s, telemetry)
        with self._lock:
            self._told.append(one)

    def tick(self, now_s: float) -> None:
        """Take samples when they are due."""
        if self._ticked_s is None or time_leapt(self._ticked_s, now_s):
            self._begin_minute(now_s, whole=False)
            self._sampled_s = now_s
        self._ticked_s = now_s
        if now_s - self._sampled_s >= self._interval_s:
            self._sampled_s = now_s
            samples = [Sampled(self._slot(name), now_s, values) for name, values in self._sampler.sample(now_s)]
            with self._lock:
                if len(self._sampled) < MAX_WAITING:
                    self._sampled += samples
        if now_s >= self._minute_ends_s:
            nodes = tuple(self._slot((venue, SubjectKind.NODE, node)) for venue, node in self._fleet.nodes)
            with self._lock:
                self._heard = HeardMinute(self._minute_ends_s, nodes, self._whole)
            self._begin_minute(now_s, whole=True)

    def take(self) -> Gathered:
        """What was gathered since."""
        with self._lock:
            gathered = Gathered(self._told, self._sampled, self._heard)
            self._told, self._sampled, self._heard = [], [], None
        return gathered

    def _begin_minute(self, now_s: float, *, whole: bool) -> None:
        self._whole = whole
        self._minute_ends_s = (now_s // self._heard_every_s + 1) * self._heard_every_s

    def _slot(self, name: SubjectName) -> int:
        slot = self._slots.get(name)
        if slot is None:
            slot = self._slots[name] = len(self.names)
            self.names.append(name)
        return slot
