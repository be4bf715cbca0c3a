"""Makes ready what is to be rolled out: compiles venues, their timetables too. It may take seconds: not on the loop."""

import threading
from collections.abc import Callable

from hub.lasting import spare_the_collector
from hub.rollout.flash_guard import FlashFound
from hub.rollout.kept_choices import KeptChoices
from hub.rollout.models import Rollout
from hub.rollout.snapshot import Prepared, Snapshot, prepare, prepare_another, snapshot_document
from hub.rollout.store import RolloutStore
from hub.timetable import left_out_entries, timed_takes
from schemas import Scene, TimedTake, Venue

FlashesKnown = Callable[[Venue, Scene], FlashFound | None]
"""What the flash check has found of a scene, if it was checked; answers at once."""


class Preparer:
    """Keeps what each venue was compiled to last; from any thread but the fleet loop's."""

    def __init__(self, store: RolloutStore, telemetry_interval_s: float, flashes_known: FlashesKnown) -> None:
        self._store = store
        self._telemetry_interval_s = telemetry_interval_s
        self._flashes_known = flashes_known
        self._lock = threading.Lock()
        self._hashed: dict[str, tuple[Venue, str, str]] = {}
        self._compiled: dict[str, Prepared] = {}

    def sha256(self, venue: Venue) -> str:
        """Of the snapshot that the venue makes, whose document is kept."""
        with self._lock:
            known = self._hashed.get(venue.id)
        if known is None or known[0] is not venue:
            document, sha256 = snapshot_document(Snapshot(venue=venue, telemetry_interval_s=self._telemetry_interval_s))
            known = (venue, document, sha256)
            with self._lock:
                self._hashed[venue.id] = known
        return known[2]

    def prepared(self, venue: Venue, kept: KeptChoices) -> Prepared:
        """The venue under these choices. Raises NotFoundError (scene), InvalidError (a document no node would take)."""
        sha256 = self.sha256(venue)
        known = self._compiled.get(venue.id)
        if known is not None and known.snapshot_sha256 == sha256:
            return prepare_another(known, kept)
        snapshot = Snapshot(venue=venue, telemetry_interval_s=self._telemetry_interval_s)
        prepared = self._compiled[venue.id] = prepare(snapshot, sha256, kept)
        self.keep_snapshot(venue)
        spare_the_collector()
        return prepared

    def again(self, row: Rollout) -> Prepared:
        """What a row stands for, as it was. Raises NotFoundError, InvalidError, ValidationError, UnavailableError."""
        kept = KeptChoices() if row.choices is None else KeptChoices.model_validate_json(row.choices)
        if row.choices is None:
            kept = kept.taken(row.scene, 0)
        known = self._compiled.get(row.venue)
        if known is not None and known.snapshot_sha256 == row.snapshot_sha256:
            return prepare_another(known, kept)
        prepared = prepare(self._store.snapshot(row.snapshot_sha256), row.snapshot_sha256, kept)
        self._compiled.setdefault(row.venue, prepared)
        return prepared

    def keep_snapshot(self, venue: Venue) -> None:
        """Keep what a row is about to name."""
        sha256 = self.sha256(venue)
        with self._lock:
            _, document, _ = self._hashed[venue.id]
        self._store.keep_snapshot(sha256, document)

    def timetable(self, venue: Venue, now_ms: int) -> tuple[TimedTake, ...]:
        """Timed takes of the coming days, without those that nobody may let go out."""
        return timed_takes(venue, now_ms, left_out=frozenset(self.left_out(venue))) if venue.timetable else ()

    def left_out(self, venue: Venue) -> dict[str, str]:
        """Entries that do not count, by id, with the reason: their scene fails the flash check, or waits for it."""
        failing: dict[str, str] = {}
        unchecked = self.unchecked(venue)
        for scene in _scenes_of_timetable(venue):
            found = None if scene.id in unchecked else self._flashes_known(venue, scene)
            if found is not None and found.fails:
                failing[scene.id] = found.summary
        return left_out_entries(venue.timetable, failing, unchecked)

    def unchecked(self, venue: Venue) -> dict[str, Scene]:
        """Scenes of the timetable that the flash check has not seen, and that nobody answers for."""
        return {scene.id: scene for scene in _scenes_of_timetable(venue) if self._flashes_known(venue, scene) is None}


def _scenes_of_timetable(venue: Venue) -> list[Scene]:
    named = {entry.scene for entry in venue.timetable if entry.flash_confirmed_by is None}
    return [scene for scene in venue.scenes if scene.id in named]
