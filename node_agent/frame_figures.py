"""What the frame loop counts: frames, late ones, the time they cost, amps and limiter scale per supply."""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from node_agent.limiter import LimitedFrame


@dataclass(frozen=True, slots=True)
class SupplyFigures:
    """Draw from one supply: in the last frame, in the highest frame of the interval, and the lowest limiter scale.

    `wanted_a`: the highest that a frame of the interval asked for; `charge_ah`: amp-hours since the start.
    """

    supply: str
    amps: float
    highest_a: float
    limiter_scale: float
    wanted_a: float
    charge_ah: float


@dataclass(frozen=True, slots=True)
class IntervalFigures:
    """Counts since the start; the rest over the interval since the figures before."""

    frames: int
    late_frames: int
    frame_rate_hz: float
    render_ms: float
    supplies: tuple[SupplyFigures, ...]


class FrameFigures:
    """Written by the frame loop, read by the agent."""

    def __init__(self, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._monotonic = monotonic
        self._lock = threading.Lock()
        self._frames = 0
        self._late = 0
        self._frames_before = 0
        self._shown_s = self._since_s = monotonic()
        self._render_s = 0.0
        self._renders = 0
        self._supplies: tuple[str, ...] = ()
        self._amps = self._highest = self._scale = self._wanted = np.zeros(0)
        self._charge_ah: dict[str, float] = {}

    def rendered(self, seconds: float) -> None:
        with self._lock:
            self._renders += 1
            self._render_s += seconds

    def shown(self, supplies: tuple[str, ...], frame: LimitedFrame, missed: int) -> None:
        """A frame went out; `missed` deadlines passed since the one before, its own included."""
        with self._lock:
            now_s = self._monotonic()
            self._count_charge(now_s - self._shown_s)
            self._shown_s = now_s
            if not self._frames:
                self._frames_before, self._since_s = 1, self._shown_s
            self._frames += 1
            self._late += missed
            self._amps = frame.amps
            if supplies != self._supplies:
                self._supplies = supplies
                self._highest, self._scale = frame.amps.copy(), frame.scale.copy()
                self._wanted = frame.wanted_a.copy()
            else:
                np.maximum(self._highest, frame.amps, out=self._highest)
                np.maximum(self._wanted, frame.wanted_a, out=self._wanted)
                np.minimum(self._scale, frame.scale, out=self._scale)

    def interval(self) -> IntervalFigures:
        """The figures so far; begins the next interval."""
        with self._lock:
            # From frame to frame: a whole number of periods, so that a short interval does not look slow.
            elapsed_s = max(self._shown_s - self._since_s, 1e-3)
            figures_of_supplies = zip(self._supplies, self._amps, self._highest, self._scale, self._wanted, strict=True)
            figures = IntervalFigures(
                frames=self._frames,
                late_frames=self._late,
                frame_rate_hz=max(0, self._frames - self._frames_before) / elapsed_s,
                render_ms=1_000 * self._render_s / self._renders if self._renders else 0.0,
                supplies=tuple(
                    SupplyFigures(
                        supply,
                        float(amps),
                        float(highest_a),
                        float(scale),
                        float(wanted_a),
                        self._charge_ah.get(supply, 0.0),
                    )
                    for supply, amps, highest_a, scale, wanted_a in figures_of_supplies
                ),
            )
            self._frames_before, self._since_s = self._frames, self._shown_s
            self._render_s, self._renders = 0.0, 0
            self._highest = self._amps.copy()
            self._scale = np.ones_like(self._amps)
            self._wanted = np.zeros_like(self._amps)
            return figures

    def _count_charge(self, elapsed_s: float) -> None:
        """The frame that is over drew its amps until now: pixels hold what they were sent."""
        for supply, amps in zip(self._supplies, self._amps.tolist(), strict=True):
            self._charge_ah[supply] = self._charge_ah.get(supply, 0.0) + amps * elapsed_s / 3_600
