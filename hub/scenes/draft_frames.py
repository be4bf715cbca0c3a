"""Frames of drafts: a scene that is being written, on the elevation, at the pace of whoever watches it."""

import asyncio
import threading
import time
from collections.abc import Callable
from typing import Final

from starlette.concurrency import run_in_threadpool

from hub.errors import UnavailableError
from hub.scenes.lights import VenueLights
from hub.scenes.record import frame_record
from schemas import Scene

MOST_STREAMS: Final = 8
LONGEST_S: Final = 600.0
_LOOKED_AFTER_S: Final = 1.0
"""How often a stream looks whether the elevation is still the one that its frames are of."""
_SETTLED_S: Final = 1e6


class DraftStream:
    """Records of one draft, rendered when they are asked for: a slow client gets fewer, none wait for it.

    Ends after LONGEST_S, when the elevation changes, and when the hub stops. It rests as long as a frame took, so that
    a large venue leaves the hub half of a processor.
    """

    def __init__(self, streams: "DraftFrames", lights: VenueLights, scene: Scene, rate_hz: float) -> None:
        self._streams = streams
        self._lights = lights
        self._scene = scene
        self._period_s = 1.0 / rate_hz
        self._due_s = time.monotonic()
        self._ends_s = self._due_s + LONGEST_S
        self._looks_s = self._due_s + _LOOKED_AFTER_S
        self._last_s: float | None = None

    def __aiter__(self) -> "DraftStream":
        return self

    async def __anext__(self) -> bytes:
        await asyncio.sleep(max(self._due_s - time.monotonic(), 0.0))
        record = None
        if not self._streams.stopped and time.monotonic() < self._ends_s:
            record = await run_in_threadpool(self._record)
        if record is None:
            raise StopAsyncIteration
        return record

    def _record(self) -> bytes | None:
        began_s = time.monotonic()
        if began_s >= self._looks_s:
            if not self._streams.fits(self._lights):
                return None
            self._looks_s = began_s + _LOOKED_AFTER_S
        show_s = self._streams.clock()
        elapsed_s = _SETTLED_S if self._last_s is None else min(max(show_s - self._last_s, 0.0), 1.0)
        self._last_s = show_s
        frame = self._lights.limit(self._lights.linear_of(self._scene, show_s), elapsed_s)
        record = frame_record(self._lights.for_screen(frame.codes), show_s, 0)
        now_s = time.monotonic()
        self._due_s = max(self._due_s + self._period_s, now_s + (now_s - began_s))
        return record


class DraftFrames:
    """The streams of all drafts. `fits`: whether frames of these lights are still those of the venue's elevation."""

    def __init__(self, fits: Callable[[VenueLights], bool], clock: Callable[[], float] = time.time) -> None:
        self.fits = fits
        self.clock = clock
        self.stopped = False
        self._lock = threading.Lock()
        self._streams: set[DraftStream] = set()

    def watch(self, lights: VenueLights, scene: Scene, rate_hz: float) -> DraftStream:
        """Records as `LiveFrames.watch` has them, revision 0; `leave` when the client does.

        Raises UnavailableError beyond MOST_STREAMS.
        """
        stream = DraftStream(self, lights, scene, rate_hz)
        with self._lock:
            if self.stopped:
                raise UnavailableError("the hub is stopping")
            if len(self._streams) >= MOST_STREAMS:
                raise UnavailableError(f"{MOST_STREAMS} drafts are watched already; close one and try again")
            self._streams.add(stream)
        return stream

    def leave(self, stream: DraftStream) -> None:
        """The client is gone."""
        with self._lock:
            self._streams.discard(stream)

    def close(self) -> None:
        """End every stream and let nobody in; waits for nothing and takes no lock, so a signal handler may call it."""
        self.stopped = True
