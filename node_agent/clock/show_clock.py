"""Show time on a board: its own monotonic clock plus an offset that exchanges with the hub teach.

The wall clock counts at the start only, as far as it can be trusted, and while no hub is there: whatever it does
otherwise changes nothing.
"""

import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Final

from node_agent.clock.filter import DRIFT_REMEMBERED, ClockFilter
from node_agent.clock.kept import KeptClock
from node_agent.clock.sample import clock_sample
from node_agent.clock.steering import FIRST_STEP_THRESHOLD_S, STEP_THRESHOLD_S, Steering
from node_agent.clock.wall_clock import wall_clock_is_disciplined
from schemas import ClockExchange
from schemas.messages import ClockSource

HUB_GONE_S: Final = 600.0
"""So long after the last exchange, a wall clock that is kept by time synchronisation carries show time on."""

BURST_EXCHANGES: Final = 8  # so many follow one another closely after the birth
_ANSWERS_REMEMBERED: Final = 32


class ShowClock:
    """Show time for every thread of the agent.

    At the start it is the wall clock, if time synchronisation keeps that; else the wall clock or the time kept from
    before the start (`restore`), whichever is later; from the first exchange on it is the hub's.
    """

    def __init__(
        self,
        monotonic: Callable[[], float] = time.monotonic,
        wall: Callable[[], float] = time.time,
        disciplined: Callable[[], bool] = wall_clock_is_disciplined,
    ) -> None:
        self._monotonic = monotonic
        self._wall = wall
        self._disciplined = disciplined
        self._lock = threading.Lock()
        self._filter = ClockFilter()
        self._answered: deque[tuple[float, float, float]] = deque(maxlen=_ANSWERS_REMEMBERED)
        now_s = monotonic()
        self._steering = Steering(wall() - now_s, now_s)
        self.wall_disciplined = disciplined()
        self.source: ClockSource = "disciplined" if self.wall_disciplined else "wall"
        self._exchanged_s: float | None = None
        self._exchanges = 0
        self._ahead_of_wall_s: float | None = 0.0
        self._kept_drift_ppm: float | None = None

    @property
    def steps(self) -> int:
        """How often show time has jumped; whoever waits for a show time plans anew when this changes."""
        return self._steering.steps

    def node_ms(self) -> float:
        """The node's own clock, ms, with microseconds in the fraction: the stamps t2 and t3."""
        return round(self._monotonic() * 1_000, 3)

    def show_s(self) -> float:
        with self._lock:
            now_s = self._monotonic()
            return now_s + self._steering.offset_s(now_s)

    def restore(self, kept: KeptClock) -> None:
        """Before any exchange: what was known before the start. A wall clock that lies behind it is not believed."""
        with self._lock:
            now_s = self._monotonic()
            show_s = now_s + self._steering.offset_s(now_s)
            self._kept_drift_ppm = kept.drift_ppm
            if kept.drift_ppm is not None:
                self._filter = ClockFilter(kept.drift_ppm / 1e6)
            if self.source == "disciplined":
                return
            if kept.show_time_ms / 1_000 > show_s:
                self.source, show_s = "kept", kept.show_time_ms / 1_000
            self._steering.follow(show_s - now_s, now_s, (kept.drift_ppm or 0.0) / 1e6, now_s, STEP_THRESHOLD_S)

    def kept(self) -> KeptClock | None:
        """What is worth keeping by now; None while nothing vouches for show time."""
        if self.source == "wall":
            return None
        drift_ppm = self.drift_ppm()
        return KeptClock(
            show_time_ms=int(self.show_s() * 1_000),
            drift_ppm=self._kept_drift_ppm if drift_ppm is None else round(drift_ppm, 3),
        )

    def answered(self, t1_ms: float, t2_ms: float, t3_ms: float) -> None:
        """Remembers an answer, so that only its completion is believed: not a forged one or one before a restart."""
        with self._lock:
            self._answered.append((t1_ms, t2_ms, t3_ms))

    def complete(self, exchange: ClockExchange) -> None:
        """Learns from a completed exchange; from one thread. Raises ValueError when it is not one of ours or is
        impossible."""
        sample = clock_sample(exchange)
        with self._lock:
            answer = (exchange.t1_ms, exchange.t2_ms, exchange.t3_ms)
            if answer not in self._answered:
                raise ValueError("no answer of this node belongs to the exchange")
            self._answered.remove(answer)
        fit = self._filter.add(sample)  # outside the lock: the frame loop asks for show time meanwhile
        with self._lock:
            self._exchanged_s = now_s = self._monotonic()
            self._exchanges += 1
            self.source = "hub"
            step_beyond_s = FIRST_STEP_THRESHOLD_S if self._exchanges <= BURST_EXCHANGES else STEP_THRESHOLD_S
            self._steering.follow(fit.offset_s, fit.at_s, fit.drift, now_s, step_beyond_s)

    def look_at_wall(self) -> None:
        """From time to time: sees whether the wall clock is disciplined, and goes by it while no hub is heard.

        What lay between the two while the hub was heard stays between them, so that show time goes on as the hub's.
        """
        disciplined = self._disciplined()
        with self._lock:
            now_s = self._monotonic()
            wall_ahead_s = self._wall() - now_s
            self.wall_disciplined = disciplined
            if self._exchanged_s is not None and now_s - self._exchanged_s < HUB_GONE_S:
                self._ahead_of_wall_s = self._steering.offset_s(now_s) - wall_ahead_s if disciplined else None
            elif disciplined and self._ahead_of_wall_s is not None:
                self.source = "disciplined"
                self._steering.follow(wall_ahead_s + self._ahead_of_wall_s, now_s, 0.0, now_s, STEP_THRESHOLD_S)

    def offset_ms(self) -> float | None:
        """Show time minus the board's wall clock; None before the first exchange."""
        if self._exchanged_s is None:
            return None
        return (self.show_s() - self._wall()) * 1_000

    def dispersion_ms(self) -> float | None:
        """Largest likely error of show time, ms, a correction still under way included; None before any exchange."""
        with self._lock:
            fit = self._filter.fit
            if fit is None:
                return None
            now_s = self._monotonic()
            return (fit.error_at(now_s) + abs(self._steering.left_s(now_s))) * 1_000

    def drift_ppm(self) -> float | None:
        """How much the node's clock loses on show time; None before exchanges have told."""
        with self._lock:
            fit = self._filter.fit
            return fit.drift * 1e6 if fit and fit.drift_error <= DRIFT_REMEMBERED else None
