"""Keeps show time over power cuts: on disk now and then, since cards wear, and read before anything shows."""

import logging
import time
from collections.abc import Callable
from typing import Final

from node_agent.clock import KeptClock, ShowClock
from node_agent.store import Store, StoreError

LOOK_EVERY_S: Final = 5.0
FIRST_KEPT_AFTER_S: Final = 60.0  # a board that is switched on and off again and again spares its card
KEEP_EVERY_S: Final = 600.0
"""144 small writes a day. After a power cut, a clock that nobody sets lags by this and by the time without power."""

KEPT_AT_TAKES_EVERY_S: Final = 60.0  # scenes that follow one another in a show spare the card too

_log = logging.getLogger(__name__)


class ClockKeeper:
    """`tend` is called often by the agent's one thread; it does something every `LOOK_EVERY_S`."""

    def __init__(self, clock: ShowClock, store: Store, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._store = store
        self._monotonic = monotonic
        self._look_due_s = monotonic()
        self._keep_due_s = monotonic() + FIRST_KEPT_AFTER_S
        self._told = False

    def restore(self) -> None:
        """Before anything asks for show time."""
        if kept := self._store.clock:
            self._clock.restore(kept)
        if self._clock.source == "kept":
            _log.warning("the wall clock lies behind what was known before the start: last known time plus uptime")

    def tend(self) -> None:
        now_s = self._monotonic()
        if now_s < self._look_due_s:
            return
        self._look_due_s = now_s + LOOK_EVERY_S
        self._clock.look_at_wall()
        if now_s >= self._keep_due_s:
            self.keep()

    def scene_began(self) -> None:
        """A board that loses power soon is not to come back in the scene before."""
        if self._monotonic() >= self._keep_due_s - KEEP_EVERY_S + KEPT_AT_TAKES_EVERY_S:
            self.keep()

    def keep(self) -> None:
        """Writes what is worth keeping, if anything is."""
        kept: KeptClock | None = self._clock.kept()
        if kept is None:
            return
        self._keep_due_s = self._monotonic() + KEEP_EVERY_S
        try:
            self._store.keep_clock(kept)
        except StoreError as error:
            if not self._told:
                _log.warning("show time is not kept: %s", error)
            self._told = True
