"""Rollouts of every venue: what routes, inventory and other rooms call; a listener of the fleet loop."""

import logging
import threading
import time
from typing import Final, Protocol

from pydantic import ValidationError
from sqlalchemy import Engine

from hub.errors import ConflictError, HubError, InvalidError, NotFoundError, UnavailableError
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from hub.rollout.flash_guard import FlashGuard, FlashJudge, FlashUnconfirmedError
from hub.rollout.lasting import spare_the_collector
from hub.rollout.machine import NodeRefusal, RolloutTiming
from hub.rollout.models import Rollout, RolloutState
from hub.rollout.snapshot import InForce, Prepared, Snapshot, prepare, prepare_another, snapshot_document
from hub.rollout.store import RolloutStore
from hub.rollout.venue_rollouts import VenueRollouts
from hub.rollout.view import RolloutView, view_of
from schemas import Leaf, TakeTime, Venue

DEFAULT_FADE_MS: Final = 1_500
LONGEST_TURN_S: Final = 5.0

log = logging.getLogger(__name__)


class VenueSource(Protocol):
    """Where venues come from: the inventory."""

    def venue_ids(self) -> list[str]: ...

    def venue(self, venue: str) -> Venue:
        """Raises NotFoundError for one that is not there."""
        ...


class RolloutService:
    """Add it to the fleet loop's listeners; `start` after the inventory is open and before the loop starts."""

    def __init__(
        self,
        engine: Engine,
        inventory: VenueSource,
        fleet: FleetLoop,
        events: EventBus,
        telemetry_interval_s: float,
        judge_flashes: FlashJudge,
        timing: RolloutTiming | None = None,
    ) -> None:
        self._store = RolloutStore(engine)
        self._inventory = inventory
        self._fleet = fleet
        self._events = events
        self._telemetry_interval_s = telemetry_interval_s
        self._flashes = FlashGuard(judge_flashes)
        self._timing = timing or RolloutTiming()
        self._venues: dict[str, VenueRollouts] = {}
        self._connected_s: float | None = None
        self._wanted: dict[str, bool] = {}
        self._listed_s: dict[str, float] = {}
        self._compiled: dict[str, Prepared] = {}
        self._wanted_lock = threading.Lock()
        self._wake = threading.Event()
        self._stopping = False
        self._worker = threading.Thread(target=self._serve_wanted, name="rollout-preparer", daemon=True)

    def start(self) -> None:
        """Take up what the hub left when it ended, however it ended; roll out venues that never were."""
        for venue in self._inventory.venue_ids():
            self._adopt(venue)
            _, sha256 = snapshot_document(self._snapshot(venue))
            if not self._store.knows_snapshot(venue, sha256):
                self.venue_changed(venue)
        spare_the_collector()
        self._worker.start()

    def stop(self) -> None:
        self._stopping = True
        self._wake.set()
        if self._worker.is_alive():
            self._worker.join()

    def take(
        self,
        venue: str,
        scene: str | None,
        fade_ms: int = DEFAULT_FADE_MS,
        *,
        flash_confirmed_by: str | None = None,
    ) -> RolloutView:
        """Start to take a scene (None is darkness) everywhere. Returns while it is being staged.

        A take already decided is waited for. A scene that fails the flash check needs the name of a person who confirms
        it; one that was not checked yet is checked first. Raises NotFoundError (venue or scene), InvalidError (a
        document no node would take), ConflictError (another rollout is being staged), FlashUnconfirmedError,
        UnavailableError (no broker).
        """
        rollouts = self._rollouts_of(venue)
        self._await_turn(rollouts)
        prepared = self._prepared_for(venue, scene)
        confirmed_by = self._flashes.confirmed(prepared, flash_confirmed_by)
        if prepared.venue is not self._inventory.venue(venue):
            raise ConflictError("the venue was changed while the scene was checked for flashes; take it again")
        return self._begin(rollouts, venue, prepared, fade_ms, confirmed_by)

    def back(self, venue: str) -> RolloutView:
        """Take what was taken before the revision in force, venue and scene as they then were, as a new revision.

        Who confirmed its flashes then answers for them again. Raises as `take` does.
        """
        rollouts = self._rollouts_of(venue)
        self._await_turn(rollouts)
        before = rollouts.before
        if before is None:
            raise ConflictError("no rollout was taken before the one in force; take a scene instead")
        confirmed_by = self._flashes.confirmed(before.prepared, before.flash_confirmed_by)
        return self._begin(rollouts, venue, before.prepared, before.take.fade_ms or DEFAULT_FADE_MS, confirmed_by)

    def venue_changed(self, venue: str) -> None:
        """The inventory holds another venue than before: roll it out in the scene in force, as soon as can be."""
        self._want(venue, restate=False)

    def page(self, venue: str, below: int | None, limit: int) -> list[RolloutView]:
        """Rollouts of a venue, newest first."""
        self._rollouts_of(venue)
        return [self._live(venue, view_of(row)) for row in self._store.page(venue, below, limit)]

    def rollout(self, venue: str, revision: int) -> RolloutView:
        """Raises NotFoundError for a revision that never was, or was pruned."""
        self._rollouts_of(venue)
        return self._live(venue, view_of(self._store.rollout(venue, revision)))

    def desired_revision(self, venue: str, node: str) -> int | None:
        """The revision that a node is to show; None where nothing is in force for it."""
        in_force = self.in_force(venue)
        return None if in_force is None or node not in in_force.prepared.documents else in_force.revision

    def under_way(self, venue: str) -> RolloutView | None:
        """The rollout that is being staged or about to be taken."""
        rollouts = self._venues.get(venue)
        return None if rollouts is None else rollouts.running

    def idle(self, venue: str) -> bool:
        """Whether no rollout is under way and every node that is on shows what is in force."""
        rollouts = self._venues.get(venue)
        return rollouts is None or self._fleet.call(lambda _now_s: rollouts.idle)

    def in_force(self, venue: str) -> InForce | None:
        """What was last taken; its take time may still lie ahead."""
        rollouts = self._venues.get(venue)
        return None if rollouts is None else rollouts.in_force

    def being_rolled_out(self, venue: str) -> Prepared | None:
        """What is being staged, or about to be taken; from any thread."""
        rollouts = self._venues.get(venue)
        return None if rollouts is None else rollouts.coming

    def shown_before(self, venue: str) -> InForce | None:
        """What was in force before, which shows until the take time and is crossfaded from."""
        rollouts = self._venues.get(venue)
        return None if rollouts is None else rollouts.before

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        if leaf in (Leaf.PRESENCE, Leaf.REPORTED, Leaf.TELEMETRY):
            rollouts = self._venues.get(node.venue)
            if rollouts is not None:
                rollouts.node_changed(node, leaf, now_s)

    def link_changed(self, connected: bool, now_s: float) -> None:
        self._connected_s = now_s if connected else None

    def tick(self, now_s: float) -> None:
        for venue, rollouts in list(self._venues.items()):
            self._listed_s.setdefault(venue, now_s)
            rollouts.tick(now_s)
            if rollouts.wants_restating(now_s):
                log.warning("nodes show revisions that this hub does not know; a newer one follows venue=%s", venue)
                self._want(venue, restate=True)
        if self._wanted:
            self._wake.set()

    def _settled(self, venue: str, now_s: float) -> bool:
        """Whether the hub has heard the venue's nodes since it listens to them, or waited long enough for them."""
        if self._connected_s is None or venue not in self._listed_s:
            return False
        silent = any(state.needs_rebirth for state in self._fleet.state.of_venue(venue))
        listens_s = max(self._connected_s, self._listed_s[venue])
        return now_s >= listens_s + (self._timing.longest_settle_s if silent else self._timing.settle_s)

    def _want(self, venue: str, *, restate: bool) -> None:
        with self._wanted_lock:
            self._wanted[venue] = restate or self._wanted.get(venue, False)
        self._wake.set()

    def _rollouts_of(self, venue: str) -> VenueRollouts:
        rollouts = self._venues.get(venue)
        if rollouts is None:
            self._inventory.venue(venue)
            rollouts = self._fleet.call(lambda _now_s: self._adopt(venue))
        return rollouts

    def _adopt(self, venue: str) -> VenueRollouts:
        if venue in self._venues:
            return self._venues[venue]
        rollouts = VenueRollouts(venue, self._store, self._fleet, self._events, self._timing, self._settled)
        newest = self._store.newest(venue)
        in_force = self._taken(self._store.newest_taken(venue))
        before = None if in_force is None else self._taken(self._store.newest_taken(venue, in_force.revision))
        staging = self._prepared(newest) if newest is not None and newest.state is RolloutState.STAGING else None
        rollouts.adopt(newest, in_force, before, staging)
        self._venues[venue] = rollouts
        return rollouts

    def _taken(self, row: Rollout | None) -> InForce | None:
        prepared = None if row is None else self._prepared(row)
        if row is None or prepared is None or row.take_at_ms is None:
            return None
        take = TakeTime(at_ms=row.take_at_ms, fade_ms=row.fade_ms)
        return InForce(row.revision, prepared, take, row.flash_confirmed_by)

    def _prepared(self, row: Rollout) -> Prepared | None:
        try:
            return prepare(self._store.snapshot(row.snapshot_sha256), row.snapshot_sha256, row.scene)
        except UnavailableError:
            raise  # a database that is away says nothing about what it keeps
        except (HubError, ValidationError) as error:
            log.error("a kept rollout no longer compiles revision=%d reason=%s", row.revision, str(error)[:400])
            return None

    def _snapshot(self, venue: str) -> Snapshot:
        return Snapshot(venue=self._inventory.venue(venue), telemetry_interval_s=self._telemetry_interval_s)

    def _prepared_for(self, venue: str, scene: str | None) -> Prepared:
        present = self._inventory.venue(venue)
        known = self._compiled.get(venue)
        if known is not None and known.venue is present:
            return prepare_another(known, scene)
        snapshot = Snapshot(venue=present, telemetry_interval_s=self._telemetry_interval_s)
        document, sha256 = snapshot_document(snapshot)
        prepared = self._compiled[venue] = prepare(snapshot, sha256, scene)
        self._store.keep_snapshot(sha256, document)
        spare_the_collector()
        return prepared

    def _begin(
        self, rollouts: VenueRollouts, venue: str, prepared: Prepared, fade_ms: int, flash_confirmed_by: str | None
    ) -> RolloutView:
        deadline_s = time.monotonic() + self._timing.longest_settle_s + 1.0
        while not self._fleet.call(lambda now_s: self._settled(venue, now_s)):
            if self._connected_s is None or time.monotonic() > deadline_s:
                raise UnavailableError("the hub has no connection to its broker; nothing was changed")
            time.sleep(0.05)
        view = self._fleet.call(lambda now_s: rollouts.begin(prepared, fade_ms, flash_confirmed_by, now_s))
        self._store.prune(venue)
        return view

    def _await_turn(self, rollouts: VenueRollouts) -> None:
        """A decided take is over in a moment, so a person who takes two scenes in a row is not turned away for it."""
        deadline_s = time.monotonic() + LONGEST_TURN_S
        while (running := rollouts.running) is not None and running.state is RolloutState.TAKEN:
            if time.monotonic() > deadline_s:
                break
            time.sleep(0.05)
        rollouts.ensure_free()

    def _live(self, venue: str, view: RolloutView) -> RolloutView:
        running = self._venues[venue].running
        return running if running is not None and running.revision == view.revision else view

    def _serve_wanted(self) -> None:
        while True:
            self._wake.wait()
            self._wake.clear()
            if self._stopping:
                return
            with self._wanted_lock:
                wanted = dict(self._wanted)
            for venue, restate in wanted.items():
                try:
                    done = self._roll_out(venue, restate=restate)
                except Exception:
                    log.exception("a changed venue could not be rolled out venue=%s", venue)
                    done = True
                if done:
                    self._no_longer_wanted(venue, restate=restate)

    def _no_longer_wanted(self, venue: str, *, restate: bool) -> None:
        with self._wanted_lock:
            if self._wanted.get(venue) is restate:
                del self._wanted[venue]

    def _roll_out(self, venue: str, *, restate: bool) -> bool:
        """Roll out the venue as it now is, in the scene in force. False when it cannot be begun yet."""
        try:
            rollouts = self._rollouts_of(venue)
            if rollouts.running is not None or not self._fleet.call(lambda now_s: self._settled(venue, now_s)):
                return False
            self._no_longer_wanted(venue, restate=restate)  # a change from here on asks again
            snapshot = self._snapshot(venue)
        except NotFoundError:
            return self._forget(venue)
        document, sha256 = snapshot_document(snapshot)
        newest = self._store.newest(venue)
        if newest is not None and newest.snapshot_sha256 == sha256 and not restate:
            return True
        in_force = rollouts.in_force
        scene = _scene_to_show(snapshot.venue, in_force)
        try:
            prepared = self._prepared_for(venue, scene)
            confirmed_by = self._flashes.carried_on(prepared, in_force)
            if rollouts.in_force is not in_force or prepared.venue is not self._inventory.venue(venue):
                raise ConflictError("a scene was taken, or the venue changed, while flashes were checked")
            self._begin(rollouts, venue, prepared, DEFAULT_FADE_MS, confirmed_by)
        except InvalidError as error:
            refusals = [
                NodeRefusal(mistake.field.removeprefix("nodes."), mistake.field, mistake.reason, mistake.remedy)
                for mistake in error.mistakes
            ]
            self._store.keep_snapshot(sha256, document)
            self._record_halted(rollouts, sha256, scene, error.detail, refusals)
        except FlashUnconfirmedError as error:
            self._store.keep_snapshot(sha256, document)
            self._record_halted(rollouts, sha256, scene, error.reason, [])
        except (ConflictError, NotFoundError, UnavailableError):
            self._want(venue, restate=restate)
            return False
        return True

    def _record_halted(
        self, rollouts: VenueRollouts, sha256: str, scene: str | None, reason: str, refusals: list[NodeRefusal]
    ) -> None:
        told = f"nothing changed: {reason}"
        self._fleet.call(lambda now_s: rollouts.record_halted(sha256, scene, DEFAULT_FADE_MS, told, refusals, now_s))

    def _forget(self, venue: str) -> bool:
        rollouts = self._venues.pop(venue, None)
        self._listed_s.pop(venue, None)
        if rollouts is not None:
            self._fleet.call(lambda _now_s: rollouts.clear())
        return True


def _scene_to_show(venue: Venue, in_force: InForce | None) -> str | None:
    """The scene in force where the venue still has it; its opening scene otherwise."""
    if in_force is None:
        return venue.opening_scene
    scene = in_force.prepared.scene
    kept = scene is None or any(one.id == scene for one in venue.scenes)
    return scene if kept else venue.opening_scene
