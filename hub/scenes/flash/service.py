"""Flash checks of scenes: each made once, kept while nothing that it rests on changes, and made before it is needed."""

import hashlib
import logging
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from typing import Final

from hub.errors import HubError, UnavailableError
from hub.rollout import VenueSource
from hub.rollout.flash_guard import FlashFound
from hub.scenes.bearing import bearing_on_light
from hub.scenes.draft import scene_named
from hub.scenes.flash.check import USUAL_DISTANCE_M, USUAL_REACH_M, check_flashes
from hub.scenes.flash.report import FlashReport, FlashReports, FlashVerdict
from hub.scenes.flash.store import FlashStore, code_sha256
from schemas import Scene, Venue

REPORTS_KEPT: Final = 256
VENUES_KEPT: Final = 8
CHECKED_AHEAD: Final = 64
"""Scenes of a venue that are checked before anyone asks; more are checked when they are asked for."""
LONGEST_WAIT_S: Final = 120.0
QUIET_S: Final = 30.0
"""How long nothing may have changed before checks are made ahead: a hub that starts, or a page where someone draws, has
better things to do."""
REST_SHARE: Final = 9.0
"""How long a check that nobody waits for rests after each stretch of frames, of the time that the stretch took."""

log = logging.getLogger(__name__)


class FlashService:
    """Asked from any thread but the fleet loop's: a check takes up to some seconds."""

    def __init__(self, inventory: VenueSource, store: FlashStore) -> None:
        self._inventory = inventory
        self._store = store
        self._lock = threading.Lock()
        self._reports: OrderedDict[str, Future[FlashReport]] = OrderedDict()
        self._digests: OrderedDict[int, tuple[Venue, str]] = OrderedDict()
        self._two_at_a_time = threading.Semaphore(2)
        self._changed: OrderedDict[str, None] = OrderedDict()
        self._wake = threading.Event()
        self._stopping = threading.Event()
        self._waiting = 0
        self._rested_at_s = 0.0
        self._worker = threading.Thread(target=self._check_ahead, name="flash-checks", daemon=True)

    def start(self) -> None:
        for venue in self._inventory.venue_ids():
            self.venue_changed(venue)
        self._worker.start()

    def stop(self) -> None:
        """Ends checks under way too: whoever waits for one gets an UnavailableError."""
        self._stopping.set()
        self._wake.set()
        if self._worker.is_alive():
            self._worker.join()

    def venue_changed(self, venue: str) -> None:
        """Check its scenes in the background; those that the change does not bear on are known already."""
        with self._lock:
            self._changed[venue] = None
        self._wake.set()

    def report(
        self, venue: str, scene: str | Scene, distance_m: float = USUAL_DISTANCE_M, reach_m: float = USUAL_REACH_M
    ) -> FlashReport:
        """Of a scene by its id, or of a draft.

        Raises NotFoundError, InvalidError for a draft that does not fit the venue, UnavailableError while other checks
        take too long.
        """
        present = self._inventory.venue(venue)
        chosen = scene_named(present, scene) if isinstance(scene, str) else scene
        return self._asked_for(present, chosen, distance_m, reach_m)

    def known(self, venue: str) -> FlashReports:
        """The reports that there are of a venue's scenes; nothing is checked for it. Raises NotFoundError."""
        present = self._inventory.venue(venue)
        reports: list[FlashReport] = []
        unchecked: list[str] = []
        for scene in present.scenes:
            report = self._report_so_far(present, scene)
            if report is not None:
                reports.append(report)
            else:
                unchecked.append(scene.id)
        return FlashReports(reports=reports, unchecked=unchecked)

    def found(self, venue: Venue, scene: Scene) -> FlashFound:
        """What rollouts need of the report, for the usual distance; of any venue, as it is or was."""
        return _found(self._asked_for(venue, scene, USUAL_DISTANCE_M, USUAL_REACH_M))

    def found_so_far(self, venue: Venue, scene: Scene) -> FlashFound | None:
        """The same where it was checked already; None otherwise, and nothing is checked for it."""
        report = self._report_so_far(venue, scene)
        return None if report is None else _found(report)

    def _report_so_far(self, venue: Venue, scene: Scene) -> FlashReport | None:
        key = self._key(venue, scene, USUAL_DISTANCE_M, USUAL_REACH_M)
        with self._lock:
            kept = self._reports.get(key)
        if kept is None:
            return self._store.report(key)
        return kept.result() if kept.done() and kept.exception() is None else None

    def _asked_for(self, venue: Venue, scene: Scene, distance_m: float, reach_m: float) -> FlashReport:
        def make() -> FlashReport:
            if not self._two_at_a_time.acquire(timeout=LONGEST_WAIT_S):
                raise UnavailableError("other scenes are being checked for flashes; try again in a minute")
            try:
                return check_flashes(venue, scene, distance_m, reach_m, self._end_when_stopping)
            finally:
                self._two_at_a_time.release()

        return self._kept(self._key(venue, scene, distance_m, reach_m), make)

    def _kept(self, key: str, make: Callable[[], FlashReport]) -> FlashReport:
        """The report under this key; whoever asks first makes it, the others wait."""
        with self._lock:
            kept = self._reports.get(key)
            if kept is not None:
                self._reports.move_to_end(key)
            else:
                mine = self._reports[key] = Future()
                while len(self._reports) > REPORTS_KEPT:
                    self._reports.popitem(last=False)
        if kept is not None:
            try:
                return self._awaited(kept)
            except TimeoutError as error:
                raise UnavailableError("the scene is still being checked for flashes; try again in a minute") from error
        try:
            report = self._store.report(key)
            if report is None:
                report = make()
                self._store.keep(key, report)
        except BaseException as error:
            with self._lock:
                self._reports.pop(key, None)
            mine.set_exception(error)
            raise
        mine.set_result(report)
        return report

    def _awaited(self, report: Future[FlashReport]) -> FlashReport:
        with self._lock:
            self._waiting += 1
        try:
            return report.result(LONGEST_WAIT_S)
        finally:
            with self._lock:
                self._waiting -= 1

    def _key(self, venue: Venue, scene: Scene, distance_m: float, reach_m: float) -> str:
        """Of all that the report rests on and tells: the venue without its other scenes, the scene, the viewpoint, the
        code."""
        with self._lock:
            known = self._digests.get(id(venue))
        if known is None:
            bare = bearing_on_light(venue).model_copy(update={"scenes": ()})
            known = venue, hashlib.sha256(bare.model_dump_json().encode()).hexdigest()
            with self._lock:
                self._digests[id(venue)] = known  # held with the venue, so that its id cannot pass to another
                while len(self._digests) > VENUES_KEPT:
                    self._digests.popitem(last=False)
        viewed = f"{code_sha256()} {known[1]} {distance_m!r} {reach_m!r} {scene.model_dump_json()}"
        return hashlib.sha256(viewed.encode()).hexdigest()

    def _end_when_stopping(self) -> None:
        if self._stopping.is_set():
            raise UnavailableError("the hub is stopping")

    def _rest(self) -> None:
        if not self._waiting:
            self._stopping.wait(REST_SHARE * min(time.monotonic() - self._rested_at_s, 1.0))
        self._rested_at_s = time.monotonic()
        self._end_when_stopping()

    def _check_ahead(self) -> None:
        while not self._stopping.is_set():
            self._wake.wait()
            while self._wake.is_set():
                self._wake.clear()
                self._stopping.wait(QUIET_S)
            while not self._stopping.is_set() and (venue := self._next_changed()) is not None:
                self._check_scenes(venue)

    def _next_changed(self) -> str | None:
        with self._lock:
            return self._changed.popitem(last=False)[0] if self._changed else None

    def _check_scenes(self, venue: str) -> None:
        try:
            present = self._inventory.venue(venue)
        except HubError:
            return  # it is gone, or the database is away: whoever asks is told
        for scene in present.scenes[:CHECKED_AHEAD]:
            if self._stopping.is_set() or venue in self._changed:
                return  # what it now holds is checked next
            key = self._key(present, scene, USUAL_DISTANCE_M, USUAL_REACH_M)
            self._rested_at_s = time.monotonic()
            try:
                self._kept(key, lambda scene=scene: check_flashes(present, scene, breathe=self._rest))  # type: ignore[misc]
            except HubError as error:
                log.info("a scene is not checked ahead venue=%s scene=%s reason=%s", venue, scene.id, error.detail)
            except Exception:
                log.exception("a scene could not be checked for flashes venue=%s scene=%s", venue, scene.id)


def _found(report: FlashReport) -> FlashFound:
    return FlashFound(report.verdict is FlashVerdict.FAILS, report.summary, report.slow_down)
