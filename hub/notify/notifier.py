"""Runs notification: makes notices of changes, hands each destination its next one, sends heartbeats and digests."""

import logging
import threading
import time
from collections.abc import Callable
from typing import Final

from sqlalchemy.exc import SQLAlchemyError

from hub.errors import HubError
from hub.notify.destination import DestinationKind
from hub.notify.digests import DigestMaker
from hub.notify.making import NoticeMaker
from hub.notify.models import Destination, Notice
from hub.notify.notice import Failed, Message, NoticeState, Outcome
from hub.notify.outbox import DestinationKey, Outbox
from hub.notify.sending import send

TURN_S: Final = 1.0
HEARTBEAT_S: Final = 60.0
PURGE_S: Final = 3_600.0
MOST_AT_ONCE: Final = 64
STOP_S: Final = 2.0

log = logging.getLogger(__name__)


class Notifier:
    """A thread that decides, and one for each attempt under way: at most one a destination, so none waits for another.

    `well` says whether the hub does what it is there for; while it does not, no heartbeat goes out.
    """

    def __init__(
        self,
        outbox: Outbox,
        maker: NoticeMaker,
        digests: DigestMaker,
        well: Callable[[], bool],
        clock: Callable[[], float],
    ) -> None:
        self._outbox = outbox
        self._maker = maker
        self._digests = digests
        self._well = well
        self._clock = clock
        self._lock = threading.Lock()
        self._under_way: dict[DestinationKey, threading.Thread] = {}
        self._beat_s: dict[DestinationKey, float] = {}
        self._purged_s: float | None = None
        self._failing = False
        self._wake = threading.Event()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="notify", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Attempts under way have a moment to end; what they carried is tried again after the next start."""
        self._stopping.set()
        self._wake.set()
        if self._thread.is_alive():
            self._thread.join()
        until_s = time.monotonic() + STOP_S
        for attempt in self._busy().values():
            attempt.join(max(until_s - time.monotonic(), 0.0))

    def wake(self) -> None:
        """Something may be due. From any thread."""
        self._wake.set()

    def turn(self) -> bool:
        """One round of all there is to do; attempts go on after it. Whether there is more to do at once."""
        now_ms = round(self._clock() * 1_000)
        more = self._maker.make(now_ms)
        destinations = {(row.venue, row.id): row for row in self._outbox.destinations()}
        for destination in destinations.values():
            self._digests.make(destination, now_ms)
        busy = self._busy()  # before it is asked what is due: what is being sent is not sent twice
        for notice in self._outbox.first_due(now_ms):
            key = (notice.venue, notice.destination)
            if key in destinations and key not in busy:
                self._begin(destinations[key], notice)
        self._send_heartbeats(destinations)
        self._purge(now_ms)
        return more

    def _run(self) -> None:
        while not self._stopping.is_set():
            self._wake.clear()
            more = False
            try:
                more = self.turn()
                self._failing = False
            except Exception as error:
                if not self._failing:  # it may be the same every second
                    foreseen = isinstance(error, (HubError, SQLAlchemyError))
                    log.warning("notices wait error=%s", type(error).__name__, exc_info=None if foreseen else error)
                self._failing = True
            if not more:
                self._wake.wait(TURN_S)

    def _busy(self) -> dict[DestinationKey, threading.Thread]:
        with self._lock:
            return dict(self._under_way)

    def _send_heartbeats(self, destinations: dict[DestinationKey, Destination]) -> None:
        hearts = {key: row for key, row in destinations.items() if row.kind == DestinationKind.HEARTBEAT}
        self._beat_s = {key: at_s for key, at_s in self._beat_s.items() if key in hearts}
        now_s = time.monotonic()
        due = [key for key in hearts if now_s - self._beat_s.get(key, -HEARTBEAT_S) >= HEARTBEAT_S]
        if due and self._well():
            for key in due:
                self._beat_s[key] = now_s
                self._begin(hearts[key], None)

    def _purge(self, now_ms: int) -> None:
        if self._purged_s is None or time.monotonic() - self._purged_s >= PURGE_S:
            self._purged_s = time.monotonic()
            self._outbox.purge(now_ms)

    def _begin(self, destination: Destination, notice: Notice | None) -> None:
        """Start an attempt, unless one is under way there. None is a heartbeat."""
        key = (destination.venue, destination.id)
        attempt = threading.Thread(
            target=self._attempt, args=(destination, notice), name=f"notify-{destination.id}", daemon=True
        )
        with self._lock:
            if key in self._under_way or len(self._under_way) >= MOST_AT_ONCE:
                return
            self._under_way[key] = attempt
        attempt.start()

    def _attempt(self, destination: Destination, notice: Notice | None) -> None:
        key = (destination.venue, destination.id)
        try:
            carried = None if notice is None else Message(notice.key, notice.subject, notice.text, notice.document)
            outcome = send(destination, carried)
            now_ms = round(self._clock() * 1_000)
            if notice is None:
                self._outbox.settle_apart(key, outcome, now_ms)
                settled = None
            else:
                settled = self._outbox.settle(notice.id or 0, outcome, now_ms)
            _tell(destination, settled, outcome)
        except (HubError, SQLAlchemyError) as error:
            # It will be tried again, and the receiver knows it by its key.
            log.warning("how an attempt went could not be kept destination=%s/%s error=%s", *key, type(error).__name__)
        finally:
            with self._lock:
                del self._under_way[key]
            self.wake()


def _tell(destination: Destination, settled: Notice | None, outcome: Outcome) -> None:
    """In the log, without anything of URL or words. A heartbeat is told of when it begins to fail, and to arrive."""
    where = f"{destination.venue}/{destination.id}"
    if settled is None:
        if isinstance(outcome, Failed) != (destination.last_error is not None):
            level, word = (
                (logging.WARNING, outcome.reason) if isinstance(outcome, Failed) else (logging.INFO, "arrives")
            )
            log.log(level, "heartbeat %s: %s", where, word)
        return
    level = logging.WARNING if settled.state == NoticeState.DEAD else logging.INFO
    reason = outcome.reason if isinstance(outcome, Failed) else None
    log.log(
        level,
        "notice %s id=%s destination=%s about=%s finding=%s attempts=%s reason=%r",
        settled.state,
        settled.id,
        where,
        settled.about,
        settled.finding,
        settled.attempts,
        reason,
    )
