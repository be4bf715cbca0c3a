"""The frame loop: frames on absolute deadlines of show time, rendered before their deadline and written at it.

Deadlines lie on a grid of one period, anchored at the show time of the last take, so that all nodes that took together
write together, and the first frame of a take is written at it to the moment. Nothing adds up: a late frame is shown at
once and counted, and the next one is due on the grid again.

A take is the hub's, of a revision, or a timed one of the revision that shows. The latter are followed by what should
show at a frame's time, not by counting them: a leap of show time, in either direction, leads to the right scene.
"""

import logging
import math
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from node_agent.board import Board
from node_agent.clock import ShowClock
from node_agent.data_lines import DataLines
from node_agent.frame_figures import FrameFigures
from node_agent.inbox import Taken
from node_agent.limiter import LimitedFrame
from node_agent.overlay import Overlay
from node_agent.prepared import Linear, PreparedRevision
from node_agent.takes import Look, taken, turned
from schemas import Grant, Shown

LATE_SHARE: Final = 0.25
"""A frame is late when it is written later than its deadline by this share of the period."""

_READY_AHEAD_S: Final = 10.0
"""So long before a timed take its scene is made ready."""

_SLOT_ROUNDING: Final = 1e-4  # of a period; show time resolves to a quarter of a microsecond

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class _Take:
    prepared: PreparedRevision
    at_s: float
    fade_s: float


@dataclass(frozen=True, slots=True)
class _Frame:
    """A frame that is ready for its deadline, and the look that it belongs to; `take` is the one that it begins."""

    deadline_s: float
    look: Look
    take: _Take | None
    skipped: int
    linear: Linear
    limited: LimitedFrame
    grant: int
    wire: dict[int, bytes]


class FrameLoop:
    """Runs in a thread of its own. `on_taken` is called there after the first frame of a take, and `on_wires(number)`
    once every data line has sent a frame under that grant."""

    def __init__(
        self,
        clock: ShowClock,
        board: Board,
        on_taken: Callable[[Taken], None],
        on_wires: Callable[[int], None],
        changed: threading.Condition | None = None,
    ) -> None:
        """`changed` is what the loop waits on, by show time; a clock that does not run by itself comes with its own."""
        self.figures = FrameFigures(lambda: clock.node_ms() / 1_000)
        self._clock = clock
        self._lines = DataLines(board)
        self._on_taken = on_taken
        self._on_wires = on_wires
        self._changed = changed or threading.Condition()
        self._changes = 0
        self._take: _Take | None = None
        self._grant: Grant | None = None
        self._told_wires = 0
        self._overlay: Overlay | None = None
        self._overlay_since_s = 0.0
        self._stopping = False
        self._look: Look | None = None
        self._told: tuple[int, Shown] | None = None
        self._last_frame: Linear | None = None
        self._last_s = -math.inf
        self._steps_seen = clock.steps
        self._thread = threading.Thread(target=self._run, name="frames", daemon=True)

    @property
    def period_s(self) -> float | None:
        """Time between frames; None while nothing shows."""
        look = self._look
        return look.prepared.period_s if look else None

    def start(self, prepared: PreparedRevision | None = None, taken_at_s: float = 0.0) -> None:
        """Starts the thread; `prepared` shows at once, on the grid of its take, even if the clock has not got there."""
        if prepared:
            now_s = self._clock.show_s()
            self._look = taken(prepared, min(taken_at_s, now_s), 0.0, now_s, None, None)
            self._last_s = now_s
            # Its pixels may still be lit from before the start: should another wiring be taken before the first frame,
            # the lines that it leaves out are known and go dark.
            self._lines.rewire(prepared, now_s)
        self._thread.start()

    def take(self, prepared: PreparedRevision, at_s: float, fade_s: float) -> None:
        """Shows a revision from a show time on; one that is past means now, in phase. Replaces a take still to come."""
        with self._changed:
            self._take = _Take(prepared, at_s, fade_s)
            self._tell()

    def obey(self, grant: Grant) -> None:
        """Limits every frame from the next on by this grant; before the first one nothing lights."""
        with self._changed:
            self._grant = grant
            self._tell()

    def cancel_take(self) -> None:
        with self._changed:
            self._take = None
            self._tell()

    def overlay(self, overlay: Overlay) -> None:
        """Shows it over the scene, in place of any other, until its time is over."""
        with self._changed:
            self._overlay = overlay
            self._overlay_since_s = time.monotonic()
            self._tell()

    def stop(self) -> None:
        """Ends the thread; every pixel goes dark."""
        with self._changed:
            self._stopping = True
            self._tell()
        self._thread.join(10.0)

    def _tell(self) -> None:
        self._changes += 1
        self._changed.notify()

    def _run(self) -> None:
        while True:
            with self._changed:
                if self._stopping:
                    break
                changes, take, grant = self._changes, self._take, self._grant
                if take is None and self._look is None:
                    self._changed.wait()
                    continue
            try:
                frame = self._prepare(take, grant)
                if self._wait_until(frame.deadline_s, changes):
                    self._show(frame)
                else:
                    frame.look.prepared.take_back()
            except Exception:
                _log.exception("a frame failed")
                self._give_up(take)
        self._lines.close(self._clock.show_s())

    def _prepare(self, take: _Take | None, grant: Grant | None) -> _Frame:
        """The next frame, which may be the first of a take."""
        now_s = self._clock.show_s()
        if self._clock.steps != self._steps_seen:
            self._steps_seen = self._clock.steps
            self._last_s = now_s
        look, deadline_s, skipped = self._look, math.inf, 0
        if look:
            deadline_s, skipped = self._next_deadline_s(look, now_s)
        # A frame of the old grid that would still be on the wire at a take is left out. A take that is past starts at
        # once; the frames after it are on its grid again.
        free_s = deadline_s + look.prepared.wire_time_s if look else math.inf
        if take and take.at_s < free_s:
            deadline_s, skipped = max(take.at_s, now_s), 0
            look = taken(take.prepared, take.at_s, take.fade_s, deadline_s, look, self._last_frame)
        elif look:
            take = None
            if (shown := look.prepared.shown(free_s)) != look.shown:
                look = turned(look, shown, self._last_frame)
                deadline_s, skipped = max(look.at_s, now_s), 0
        if look is None:
            raise RuntimeError("asked for a frame with nothing to show")
        began_s = time.perf_counter()
        linear = look.linear(deadline_s)
        self._paint_overlay(linear, look)
        look.prepared.obey(grant)
        elapsed_s = max(0.0, min(deadline_s - self._last_s, 1.0))
        if self._look and look is not self._look:
            if look.cut:
                elapsed_s = math.inf  # the limiter does not rise slowly from what another scene needed
            else:
                look.prepared.follow(self._look.prepared)
        limited = look.prepared.limit(linear, elapsed_s, deadline_s)
        wire = look.prepared.encode(limited.codes)
        self.figures.rendered(time.perf_counter() - began_s)
        return _Frame(deadline_s, look, take, skipped, linear, limited, grant.number if grant else 0, wire)

    def _next_deadline_s(self, look: Look, now_s: float) -> tuple[float, int]:
        """The first slot of the grid once the last frame has left the wire; when several have passed, the latest of
        them, and how many were skipped for it."""
        period_s = look.prepared.period_s

        def slot(after_s: float) -> int:
            return math.ceil((after_s - look.at_s) / period_s - _SLOT_ROUNDING)

        free = slot(self._last_s + (look.prepared.wire_time_s or period_s))
        chosen = max(free, slot(now_s - period_s))
        return look.at_s + chosen * period_s, chosen - free

    def _paint_overlay(self, linear: Linear, look: Look) -> None:
        with self._changed:
            overlay, elapsed_s = self._overlay, time.monotonic() - self._overlay_since_s
            if overlay and elapsed_s >= overlay.seconds:
                self._overlay = overlay = None
        if overlay:
            overlay.paint(linear, look.prepared.slices, elapsed_s)

    def _wait_until(self, deadline_s: float, changes: int) -> bool:
        """Waits for a show time. False as soon as the plan may have changed: the frame is then prepared anew."""
        with self._changed:
            while True:
                if self._changes != changes or self._clock.steps != self._steps_seen:
                    return False
                left_s = deadline_s - self._clock.show_s()
                if left_s <= 0:
                    return True
                self._changed.wait(min(left_s, 1.0))

    def _show(self, frame: _Frame) -> None:
        look, prepared = frame.look, frame.look.prepared
        if frame.take:
            self._lines.rewire(prepared, frame.deadline_s)
        behind_s = self._clock.show_s() - frame.deadline_s
        self._lines.send(frame.wire, frame.deadline_s, prepared.revision, frame.grant)
        missed = frame.skipped + (behind_s > LATE_SHARE * prepared.period_s)
        self.figures.shown(prepared.supplies, frame.limited, missed)
        self._look, self._last_frame, self._last_s = look, frame.linear, frame.deadline_s
        if frame.take:
            with self._changed:
                if self._take is frame.take:
                    self._take = None
        if (begun := (prepared.revision, look.shown)) != self._told:
            self._told = begun
            self._on_taken(Taken(prepared.revision, look.shown, frame.deadline_s))
        prepared.make_ready(frame.deadline_s, frame.deadline_s + _READY_AHEAD_S)
        # Where sending blocks, a line may be through with this frame only by the next.
        if (reached := self._lines.grant) != self._told_wires:
            self._told_wires = reached
            self._on_wires(reached)

    def _give_up(self, take: _Take | None) -> None:
        """After a failure that staging did not foresee: a take that failed is dropped, and the loop goes on slowly."""
        with self._changed:
            if take and self._take is take:
                self._take = None
            self._changed.wait(1.0)
