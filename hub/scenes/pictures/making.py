"""Pictures for whoever calls, one at a time: they take a processor for seconds and hold many frames."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from hub.errors import UnavailableError
from hub.scenes.draft import lights_for
from hub.scenes.pictures.animation import Format, scene_animation
from hub.scenes.pictures.strip import scene_strip
from schemas import Scene, Venue

LONGEST_WAIT_S: Final = 20.0
"""Time that a call waits for the pictures before it."""


class PictureMaker:
    """Blocks: called from routes that run in the thread pool.

    All raise InvalidError for a scene that does not fit the venue or a picture that would be too large, and
    UnavailableError while others are being made.
    """

    def __init__(self, longest_wait_s: float = LONGEST_WAIT_S) -> None:
        self._longest_wait_s = longest_wait_s
        self._one_at_a_time = threading.Semaphore(1)

    def strip(self, venue: Venue, scene: Scene, *, width_px: int, instants: int) -> bytes:
        """See `scene_strip`."""
        with self._turn():
            return scene_strip(lights_for(venue, scene), scene, width_px=width_px, instants=instants)

    def animation(
        self, venue: Venue, scene: Scene, kind: Format, *, width_px: int, longest_s: float | None, rate_hz: float
    ) -> bytes:
        """See `scene_animation`."""
        with self._turn():
            lights = lights_for(venue, scene)
            made = scene_animation(lights, scene, kind, width_px=width_px, longest_s=longest_s, rate_hz=rate_hz)
            return made.file

    @contextmanager
    def _turn(self) -> Iterator[None]:
        if not self._one_at_a_time.acquire(timeout=self._longest_wait_s):
            raise UnavailableError("other pictures are being made; try again in a minute")
        try:
            yield
        finally:
            self._one_at_a_time.release()
