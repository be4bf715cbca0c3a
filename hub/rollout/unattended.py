"""What goes out by itself: changes of the venue, the coming days of its timetable, planned rollouts in their turn."""

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final

from hub.errors import ConflictError, HubError, InvalidError, NotFoundError, UnavailableError
from hub.rollout.flash_guard import FlashGuard, FlashJudge, FlashUnconfirmedError
from hub.rollout.kept_choices import KeptChoices
from hub.rollout.machine_actions import NodeRefusal
from hub.rollout.models import Conduct
from hub.rollout.plan import DEFAULT_FADE_MS
from hub.rollout.planned import PlannedRollouts
from hub.rollout.snapshot import InForce, Prepared, prepare_another
from hub.rollout.undertaking import Undertaking
from hub.rollout.venue_rollouts import VenueRollouts
from hub.rollout.venues import Venues
from schemas import TimedTake, Venue, shown_at

LOOK_EVERY_S: Final = 0.5
REFRESH_EVERY_S: Final = 5.0
REFRESH_AFTER_MS: Final = 24 * 3_600_000
LONGEST_WITHOUT_MS: Final = 6 * REFRESH_AFTER_MS
"""A rollout that was halted on a part of the venue holds a refresh up for so long; then the timetable would run out."""

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class _Looked:
    """A timetable in force that was held against what it would be by then, with what is left out of it."""

    timetable: tuple[TimedTake, ...]
    left_out: frozenset[str]
    at_ms: int


class Unattended:
    """A thread of its own, since compiling takes a while; and another, since checks for flashes take longer."""

    def __init__(self, venues: Venues, flashes: FlashGuard, judge: FlashJudge, planned: PlannedRollouts) -> None:
        self._venues = venues
        self._flashes = flashes
        self._judge = judge
        self._planned = planned
        self._wanted: dict[str, bool] = {}
        self._looked: dict[str, _Looked] = {}
        self._lock = threading.Lock()
        self._wake = threading.Event()
        self._unchecked = threading.Event()
        self._stopping = threading.Event()
        self._look_from_s = 0.0
        self._refresh_from_s = 0.0
        self._threads = [
            threading.Thread(target=self._serve, name="rollout-preparer", daemon=True),
            threading.Thread(target=self._check, name="timetable-checks", daemon=True),
        ]

    def start(self) -> None:
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        self._stopping.set()
        self._wake.set()
        self._unchecked.set()
        for thread in self._threads:
            if thread.is_alive():
                thread.join()

    def want(self, venue: str, *, restate: bool) -> None:
        """Roll the venue out as it now is, as soon as can be; `restate` though nothing changed. From any thread."""
        with self._lock:
            self._wanted[venue] = restate or self._wanted.get(venue, False)
        self._wake.set()

    def wake(self) -> None:
        """Something may go on that waited. From any thread."""
        self._refresh_from_s = 0.0
        self._look_from_s = 0.0
        self._wake.set()

    def tick(self, now_s: float) -> None:
        """On the fleet loop's thread."""
        if self._wanted or now_s >= self._look_from_s:
            self._wake.set()

    @property
    def busy(self) -> bool:
        """Whether a change of a venue still waits to be rolled out."""
        return bool(self._wanted)

    def _serve(self) -> None:
        while True:
            self._wake.wait()
            self._wake.clear()
            if self._stopping.is_set():
                return
            with self._lock:
                wanted = dict(self._wanted)
            for venue, restate in wanted.items():
                if self._tried(venue, partial(self._roll_out, venue, restate=restate)):
                    self._no_longer_wanted(venue, restate=restate)
            try:
                now_s = self._venues.now_ms() / 1_000
            except UnavailableError:
                continue  # the fleet loop is overloaded, or stopping
            if now_s >= self._look_from_s:
                self._look_from_s = now_s + LOOK_EVERY_S
                self._look_after_all(now_s)

    def _look_after_all(self, now_s: float) -> None:
        """Whatever is due that nobody asks for."""
        refresh = now_s >= self._refresh_from_s
        if refresh:
            self._refresh_from_s = now_s + REFRESH_EVERY_S
        for venue in self._venues.all():
            if not self._tried(venue, partial(self._planned.begin_next, venue)) and refresh:
                self._tried(venue, partial(self._refresh, venue))

    def _tried(self, venue: str, work: Callable[[], bool]) -> bool:
        """Whether it is done, or cannot be done ever."""
        try:
            return work()
        except (ConflictError, UnavailableError):
            return False  # later
        except Exception:
            log.exception("unattended work failed venue=%s", venue)
            return True

    def _no_longer_wanted(self, venue: str, *, restate: bool) -> None:
        with self._lock:
            if self._wanted.get(venue) is restate:
                del self._wanted[venue]

    def _roll_out(self, venue: str, *, restate: bool) -> bool:
        """Roll out the venue as it now is, in the scene in force. False when it cannot be begun yet."""
        try:
            rollouts = self._venues.of(venue)
            if rollouts.running is not None or not self._venues.settled_now(venue):
                return False
            self._no_longer_wanted(venue, restate=restate)  # a change from here on asks again
            present = self._venues.inventory.venue(venue)
        except NotFoundError:
            self._venues.forget(venue)
            return True
        preparer, in_force = self._venues.preparer, rollouts.standing.in_force
        newest = self._venues.store.newest_begun(venue)
        if newest is not None and newest.snapshot_sha256 == preparer.sha256(present) and not restate:
            return True
        kept = self._venues.base(present, in_force, self._venues.now_ms())
        try:
            prepared = preparer.prepared(present, kept)
            confirmed_by = self._flashes.carried_on(prepared, in_force)
            if rollouts.standing.in_force is not in_force or present is not self._venues.inventory.venue(venue):
                raise ConflictError("a scene was taken, or the venue changed, while flashes were checked")
            back_to = 0 if in_force is None else in_force.revision
            fade_ms = 0 if in_force is not None and self._unseen(in_force, prepared) else DEFAULT_FADE_MS
            what = Undertaking(prepared, back_to, fade_ms=fade_ms, flash_confirmed_by=confirmed_by)
            self._venues.begin(venue, what)
        except InvalidError as error:
            refusals = [
                NodeRefusal(mistake.field.removeprefix("nodes."), mistake.field, mistake.reason, mistake.remedy)
                for mistake in error.mistakes
            ]
            self._record_halted(rollouts, present, kept, error.detail, refusals)
        except FlashUnconfirmedError as error:
            self._record_halted(rollouts, present, kept, error.reason, [])
        except (ConflictError, NotFoundError, UnavailableError):
            self.want(venue, restate=restate)
            return False
        return True

    def _unseen(self, in_force: InForce, prepared: Prepared) -> bool:
        """Whether nobody sees the change: every node shows what it showed, with the same wiring and scenes."""
        now_ms, before = self._venues.now_ms(), in_force.prepared.documents
        return before.keys() == prepared.documents.keys() and all(
            (one.head, one.tail) == (before[node].head, before[node].tail)
            and shown_at(one.body, now_ms).scene == shown_at(before[node].body, now_ms).scene
            for node, one in prepared.documents.items()
        )

    def _refresh(self, venue: str) -> bool:
        """Once a day, and when a scene turns out to pass, the timetable of what is in force from now on."""
        rollouts = self._venues.known(venue)
        in_force = None if rollouts is None else rollouts.standing.in_force
        if rollouts is None or in_force is None or rollouts.running is not None or venue in self._wanted:
            return False
        if not self._venues.settled_now(venue):
            return False
        known, now_ms, preparer = in_force.prepared, self._venues.now_ms(), self._venues.preparer
        if not known.venue.timetable and not known.kept.timetable:
            return False
        left_out = frozenset(preparer.left_out(known.venue))
        if preparer.unchecked(known.venue):
            self._unchecked.set()
        looked = self._looked.get(venue)
        same = looked is not None and looked.timetable is known.kept.timetable and looked.left_out == left_out
        checked_ms = max(known.kept.compiled_at_ms, looked.at_ms if looked is not None and same else 0)
        if same and now_ms - checked_ms < REFRESH_AFTER_MS:
            return False
        if rollouts.standing.ahead and now_ms - known.kept.compiled_at_ms < LONGEST_WITHOUT_MS:
            return False
        kept = known.kept.refreshed(preparer.timetable(known.venue, now_ms), now_ms)
        recent = now_ms - known.kept.compiled_at_ms < REFRESH_AFTER_MS
        same = kept.timetable == known.kept.timetable
        if not same and not (recent and _same_takes(known.kept.timetable, kept.timetable, now_ms)):
            what = Undertaking(
                prepare_another(known, kept),
                self._venues.inherited_back(venue),
                fade_ms=0,
                conduct=Conduct.LENIENT,
                flash_confirmed_by=in_force.flash_confirmed_by,
            )
            self._venues.begin(venue, what)
        self._looked[venue] = _Looked(known.kept.timetable, left_out, now_ms)
        return True

    def _check(self) -> None:
        """Check for flashes what the timetable is waiting for."""
        while True:
            self._unchecked.wait()
            self._unchecked.clear()
            for venue in self._venues.all():
                rollouts = self._venues.known(venue)
                in_force = None if rollouts is None else rollouts.standing.in_force
                waiting = {} if in_force is None else self._venues.preparer.unchecked(in_force.prepared.venue)
                for scene in waiting.values():
                    if self._stopping.is_set() or in_force is None:
                        return
                    try:
                        self._judge(in_force.prepared.venue, scene)
                    except HubError as error:
                        log.info(
                            "a scene is not checked yet venue=%s scene=%s reason=%s", venue, scene.id, error.detail
                        )
                if waiting:
                    self.wake()
            if self._stopping.is_set():
                return

    def _record_halted(
        self, rollouts: VenueRollouts, present: Venue, kept: KeptChoices, reason: str, refusals: list[NodeRefusal]
    ) -> None:
        preparer = self._venues.preparer
        preparer.keep_snapshot(present)
        sha256 = preparer.sha256(present)
        self._venues.call(lambda now_s: rollouts.record_halted(sha256, kept, reason, refusals, now_s))


def _same_takes(before: tuple[TimedTake, ...], after: tuple[TimedTake, ...], now_ms: int) -> bool:
    """Whether both have the same on now, and take the same until the shorter one ends."""
    ahead = [[take for take in takes if take.at_ms > now_ms] for takes in (before, after)]
    on = [next((take.scene for take in reversed(takes) if take.at_ms <= now_ms), "") for takes in (before, after)]
    common = min(len(takes) for takes in ahead)
    return on[0] == on[1] and bool(ahead[0]) == bool(ahead[1]) and ahead[0][:common] == ahead[1][:common]
