"""Live frames of the elevation: one renderer a venue, shared by all who watch, and only while someone does."""

import asyncio
import logging
import threading
import time
from collections.abc import Callable
from typing import Final

from hub.errors import UnavailableError
from hub.rollout import VenueSource
from hub.scenes.followed import Rollouts
from hub.scenes.record import frame_record
from hub.scenes.venue_look import VenueLook

MAX_VIEWERS: Final = 32

log = logging.getLogger(__name__)


class Viewer:
    """One client of a stream: an iterator that holds the newest frame only, so that a slow client skips."""

    def __init__(self, frames: "VenueFrames", rate_hz: float) -> None:
        self.frames = frames
        self.period_s = 1.0 / rate_hz
        self.due_s = 0.0
        self._loop = asyncio.get_running_loop()
        self._wake = asyncio.Event()
        self._record: bytes | None = None
        self._ended = False

    def offer(self, record: bytes) -> None:
        """From the renderer's thread."""
        self._record = record
        self._tell()

    def end(self) -> None:
        """From any thread: the stream ends after the frame under way."""
        self._ended = True
        self._tell()

    def _tell(self) -> None:
        if not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._wake.set)

    def __aiter__(self) -> "Viewer":
        return self

    async def __anext__(self) -> bytes:
        while not self._ended:
            self._wake.clear()
            record, self._record = self._record, None
            if record is not None:
                return record
            await self._wake.wait()
        raise StopAsyncIteration


class VenueFrames:
    """The renderer of one venue. Its thread lives from the first viewer to the last."""

    def __init__(self, venue: str, inventory: VenueSource, rollouts: Rollouts, clock: Callable[[], float]) -> None:
        self._venue = venue
        self._inventory = inventory
        self._rollouts = rollouts
        self._clock = clock
        self._lock = threading.RLock()  # a signal handler may close the streams while this thread holds it
        self._changed = threading.Event()
        self._viewers: set[Viewer] = set()
        self._thread: threading.Thread | None = None
        self._look = VenueLook(venue, rollouts)
        self._last_s = 0.0
        self._length: int | None = None

    @property
    def watched(self) -> bool:
        return self._thread is not None

    def add(self, viewer: Viewer) -> None:
        """Raises UnavailableError beyond MAX_VIEWERS."""
        with self._lock:
            if len(self._viewers) >= MAX_VIEWERS:
                raise UnavailableError(f"{MAX_VIEWERS} pages already watch this venue; close one and try again")
            self._viewers.add(viewer)
            if self._thread is None:
                self._look, self._length = VenueLook(self._venue, self._rollouts), None
                self._thread = threading.Thread(target=self._run, name=f"frames-{self._venue}", daemon=True)
                self._thread.start()
        self._changed.set()

    def remove(self, viewer: Viewer) -> None:
        with self._lock:
            self._viewers.discard(viewer)
        self._changed.set()

    def end(self) -> None:
        """End every stream; the thread follows."""
        with self._lock:
            viewers, self._viewers = list(self._viewers), set()
        for viewer in viewers:
            viewer.end()
        self._changed.set()

    def join(self) -> None:
        thread = self._thread
        if thread is not None:
            thread.join()

    def _run(self) -> None:
        while True:
            self._changed.clear()
            with self._lock:
                viewers = list(self._viewers)
                if not viewers:
                    self._thread = None
                    return
            now_s = time.monotonic()
            due = [viewer for viewer in viewers if now_s >= viewer.due_s]
            if due:
                self._serve(due, now_s)
            wait_s = min(viewer.due_s for viewer in viewers) - time.monotonic()
            if wait_s > 0:
                self._changed.wait(wait_s)

    def _serve(self, due: list[Viewer], now_s: float) -> None:
        for viewer in due:
            viewer.due_s = max(viewer.due_s + viewer.period_s, now_s)
        try:
            record = self._record(self._clock())
        except Exception:
            log.exception("the elevation cannot be rendered venue=%s", self._venue)
            record = None
        if record is None or (self._length is not None and len(record) != self._length):
            # Another elevation than the one that the viewers read: they are to read it anew.
            for viewer in due:
                viewer.end()
                self.remove(viewer)
            self._length = None
            return
        self._length = len(record)
        for viewer in due:
            viewer.offer(record)

    def _record(self, show_s: float) -> bytes:
        elapsed_s = min(max(show_s - self._last_s, 0.0), 1.0)
        self._last_s = show_s
        shown = self._look.frame(show_s, elapsed_s)
        if shown is None:
            dark = bytes(
                3 * sum(span.pixels for zone in self._inventory.venue(self._venue).zones for span in zone.spans)
            )
            return frame_record(dark, show_s, 0)
        revision, rgb = shown
        return frame_record(rgb, show_s, revision)


class LiveFrames:
    """The frames of all venues."""

    def __init__(self, inventory: VenueSource, rollouts: Rollouts, clock: Callable[[], float] = time.time) -> None:
        self._inventory = inventory
        self._rollouts = rollouts
        self._clock = clock
        self._lock = threading.RLock()
        self._venues: dict[str, VenueFrames] = {}
        self._stopped = False

    def watch(self, venue: str, rate_hz: float) -> Viewer:
        """Records until the elevation changes or the hub stops; `leave` when the client does. On the event loop.

        For a record see `frame_record`. Raises UnavailableError beyond MAX_VIEWERS clients.
        """
        with self._lock:
            if self._stopped:
                raise UnavailableError("the hub is stopping")
            frames = self._venues.setdefault(venue, VenueFrames(venue, self._inventory, self._rollouts, self._clock))
        viewer = Viewer(frames, rate_hz)
        frames.add(viewer)
        return viewer

    def leave(self, viewer: Viewer) -> None:
        """The client is gone."""
        viewer.frames.remove(viewer)

    def watched(self, venue: str) -> bool:
        frames = self._venues.get(venue)
        return frames is not None and frames.watched

    def close(self) -> None:
        """End every stream and let nobody in; waits for nothing, so that a signal handler may call it."""
        with self._lock:
            self._stopped = True
            venues = list(self._venues.values())
        for frames in venues:
            frames.end()

    def stop(self) -> None:
        """`close`, and wait for the renderers."""
        self.close()
        for frames in list(self._venues.values()):
            frames.join()
