"""Show time on a board: its own monotonic clock plus an offset, learnt from four-timestamp exchanges with the hub.

RFC 5905 §8: with t1, t4 by the hub's show time and t2, t3 by this node's clock, the hub sees the node's clock ahead by
theta = ((t2 - t1) + (t3 - t4)) / 2 with a delay of (t4 - t1) - (t3 - t2); so show time is the node's clock minus theta,
and no asymmetry of the path can make that wrong by more than half the delay.

Show time that was given out never runs backwards except by a step, and a step is announced by `steps`.
"""

import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from schemas import ClockExchange

SAMPLES_KEPT: Final = 8  # the clock filter's stages in RFC 5905 §10
STEP_THRESHOLD_S: Final = 0.128  # RFC 5905's STEPT: a larger error is corrected at once
SLEW_RATE: Final = 0.01  # seconds of correction per second: no eye sees a scene run 1 % fast
DRIFT_RATE: Final = 50e-6  # common practice: a board's crystal is good to 50 ppm
LARGEST_DELAY_S: Final = 5.0
_ANSWERS_REMEMBERED: Final = 32


@dataclass(frozen=True, slots=True)
class ClockSample:
    """One exchange: show time minus the node's clock, the path's delay, and when it was taken by the node's clock."""

    offset_s: float
    delay_s: float
    taken_s: float

    def error_s(self, now_s: float) -> float:
        """Largest likely error by now: half the delay, and what the crystal may have drifted since."""
        return self.delay_s / 2 + DRIFT_RATE * max(0.0, now_s - self.taken_s)


def clock_sample(exchange: ClockExchange) -> ClockSample:
    """The sample of an exchange. Raises ValueError for stamps that no exchange can have."""
    t1, t2, t3, t4 = (ms / 1_000 for ms in (exchange.t1_ms, exchange.t2_ms, exchange.t3_ms, exchange.t4_ms))
    delay_s = (t4 - t1) - (t3 - t2)
    if t4 < t1 or t3 < t2 or not 0 <= delay_s <= LARGEST_DELAY_S:
        raise ValueError("the stamps of the exchange run backwards or lie too far apart")
    return ClockSample(offset_s=-((t2 - t1) + (t3 - t4)) / 2, delay_s=delay_s, taken_s=t3)


class ShowClock:
    """Show time for every thread of the agent. Until the first exchange it is the wall clock as read at the start."""

    def __init__(self, monotonic: Callable[[], float] = time.monotonic, wall: Callable[[], float] = time.time) -> None:
        self._monotonic = monotonic
        self._wall = wall
        self._lock = threading.Lock()
        self._samples: deque[ClockSample] = deque(maxlen=SAMPLES_KEPT)
        self._answered: deque[tuple[float, float, float]] = deque(maxlen=_ANSWERS_REMEMBERED)
        self._target_s = wall() - monotonic()
        self._slew_from_s = self._target_s
        self._slew_start_s = monotonic()
        self._steps = 0

    @property
    def steps(self) -> int:
        """How often show time has jumped; whoever waits for a show time plans anew when this changes."""
        return self._steps

    def node_ms(self) -> float:
        """The node's own clock, ms, with microseconds in the fraction: the stamps t2 and t3."""
        return round(self._monotonic() * 1_000, 3)

    def show_s(self) -> float:
        with self._lock:
            now_s = self._monotonic()
            return now_s + self._offset_s(now_s)

    def answered(self, t1_ms: float, t2_ms: float, t3_ms: float) -> None:
        """Remembers an answer, so that only its completion is believed: not a forged one or one before a restart."""
        with self._lock:
            self._answered.append((t1_ms, t2_ms, t3_ms))

    def complete(self, exchange: ClockExchange) -> None:
        """Learns from a completed exchange. Raises ValueError when it is not one of ours or is impossible."""
        sample = clock_sample(exchange)
        with self._lock:
            answer = (exchange.t1_ms, exchange.t2_ms, exchange.t3_ms)
            if answer not in self._answered:
                raise ValueError("no answer of this node belongs to the exchange")
            self._answered.remove(answer)
            first = not self._samples
            self._samples.append(sample)
            now_s = self._monotonic()
            self._steer(self._best(now_s).offset_s, now_s, first=first)

    def offset_ms(self) -> float | None:
        """Show time minus the board's wall clock; None before the first exchange."""
        if not self._samples:
            return None
        return (self.show_s() - self._wall()) * 1_000

    def dispersion_ms(self) -> float | None:
        """Largest likely error of show time, ms, a correction still under way included; None before any exchange."""
        with self._lock:
            if not self._samples:
                return None
            now_s = self._monotonic()
            return (self._best(now_s).error_s(now_s) + abs(self._target_s - self._offset_s(now_s))) * 1_000

    def _best(self, now_s: float) -> ClockSample:
        return min(self._samples, key=lambda sample: sample.error_s(now_s))

    def _offset_s(self, now_s: float) -> float:
        """The offset in force: on its way from where the slew began to the target."""
        way_s = self._target_s - self._slew_from_s
        gone_s = SLEW_RATE * (now_s - self._slew_start_s)
        if gone_s >= abs(way_s):
            return self._target_s
        return self._slew_from_s + (gone_s if way_s > 0 else -gone_s)

    def _steer(self, target_s: float, now_s: float, *, first: bool) -> None:
        in_force_s = self._offset_s(now_s)
        step = first or abs(target_s - in_force_s) > STEP_THRESHOLD_S
        self._steps += step
        self._slew_from_s = target_s if step else in_force_s
        self._slew_start_s = now_s
        self._target_s = target_s
