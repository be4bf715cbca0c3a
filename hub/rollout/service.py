"""Rollouts of every venue: what routes, inventory and other rooms call; a listener of the fleet loop."""

import logging
from collections.abc import Callable, Mapping

from sqlalchemy import Engine

from hub.desired import Choices
from hub.errors import ConflictError
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from hub.lasting import spare_the_collector
from hub.rollout.flash_guard import FlashGuard, FlashJudge
from hub.rollout.gates import FindingSource
from hub.rollout.machine_timing import RolloutTiming
from hub.rollout.models import Conduct, Rollout, RolloutState
from hub.rollout.plan import DEFAULT_FADE_MS, RolloutPlan
from hub.rollout.planned import PlannedRollouts
from hub.rollout.preparing import FlashesKnown, Preparer
from hub.rollout.retained_watch import Looks, RetainedWatch, WatchTiming
from hub.rollout.snapshot import InForce, Prepared, prepare_another
from hub.rollout.store import RolloutStore
from hub.rollout.unattended import Unattended
from hub.rollout.undertaking import Undertaking, taking_back
from hub.rollout.venue_rollouts import VenueRollouts
from hub.rollout.venues import Venues, VenueSource
from hub.rollout.view import RolloutView, view_of
from schemas import Held, Leaf, TimedTake

_ANSWER = Leaf.ANSWER  # a member of an enumeration is looked up slowly in Python 3.11

log = logging.getLogger(__name__)


class RolloutService:
    """Add it to the fleet loop's listeners; `start` after the inventory is open and before the loop starts.

    Calls that name a revision raise NotFoundError for one that never was, and ConflictError where it is past that.
    """

    def __init__(
        self,
        engine: Engine,
        inventory: VenueSource,
        fleet: FleetLoop,
        events: EventBus,
        telemetry_interval_s: float,
        judge_flashes: FlashJudge,
        timing: RolloutTiming | None = None,
        *,
        flashes_known: FlashesKnown | None = None,
    ) -> None:
        self._store = RolloutStore(engine)
        self._inventory = inventory
        self._fleet = fleet
        self._flashes = FlashGuard(judge_flashes)
        self._preparer = Preparer(self._store, telemetry_interval_s, flashes_known or judge_flashes)
        self._venues = Venues(self._store, inventory, fleet, events, timing or RolloutTiming(), self._preparer)
        self._planned = PlannedRollouts(self._venues, self._flashes)
        self._unattended = Unattended(self._venues, self._flashes, judge_flashes, self._planned)

    def watch_findings(self, findings: FindingSource) -> None:
        """Before `start`: where gates learn of findings."""
        self._venues.findings = findings

    def start(self) -> None:
        """Take up what the hub left when it ended, however it ended; roll out venues that never were."""
        for venue in self._inventory.venue_ids():
            self._venues.adopt(venue)
            if not self._store.knows_snapshot(venue, self._preparer.sha256(self._inventory.venue(venue))):
                self.venue_changed(venue)
        spare_the_collector()
        self._unattended.start()

    def stop(self) -> None:
        self._unattended.stop()

    def watch_retained(self, looks: Looks, timing: WatchTiming | None = None) -> RetainedWatch:
        """A listener for the fleet loop that keeps true what the broker keeps for each node."""
        return RetainedWatch(self._venues, looks, self._fleet.inbox.put_call, timing)

    def take(
        self,
        venue: str,
        scene: str | None,
        fade_ms: int = DEFAULT_FADE_MS,
        *,
        flash_confirmed_by: str | None = None,
        requested_by: str | None = None,
    ) -> RolloutView:
        """Start to take a scene (None is darkness) everywhere. Returns while it is being staged.

        It holds until the next timed take. A take already decided is waited for. A scene that fails the flash check
        needs the name of a person who confirms it; one that was not checked yet is checked first. Raises NotFoundError
        (venue or scene), InvalidError (a document no node would take), ConflictError (another rollout is under way),
        FlashUnconfirmedError, UnavailableError (no broker).
        """
        rollouts = self._venues.of(venue)
        self._venues.await_turn(rollouts)
        present, now_ms = self._inventory.venue(venue), self._venues.now_ms()
        kept = self._venues.base(present, rollouts.standing.in_force, now_ms).taken(scene, now_ms)
        prepared = self._preparer.prepared(present, kept)
        confirmed_by = self._flashes.confirmed(present, scene, flash_confirmed_by)
        if present is not self._inventory.venue(venue):
            raise ConflictError("the venue was changed while the scene was checked for flashes; take it again")
        what = Undertaking(
            prepared,
            _revision_of(rollouts),
            fade_ms=fade_ms,
            flash_confirmed_by=confirmed_by,
            requested_by=requested_by,
        )
        return self._venues.begin(venue, what)

    def at_once(
        self,
        venue: str,
        scene: str | None,
        fade_ms: int,
        *,
        timetable_extra: tuple[TimedTake, ...] = (),
        flash_confirmed_by: str | None = None,
        requested_by: str | None = None,
    ) -> RolloutView:
        """Take a scene everywhere now, whatever is under way: that is halted. Raises as `take` does, but for conflicts.

        Boards that refuse, or do not answer within a moment, are left out and follow when they can. `timetable_extra`
        are takes that follow by themselves; who answers for their flashes is the caller's to know. It is of the venue
        in force where that knows the scenes, since every board holds it already.
        """
        rollouts = self._venues.of(venue)
        in_force, now_ms = rollouts.standing.in_force, self._venues.now_ms()
        scenes = {scene, *(take.scene for take in timetable_extra)}
        if in_force is not None and _holds(in_force.prepared, scenes):
            kept = in_force.prepared.kept.taken(scene, now_ms, timetable_extra)
            prepared = prepare_another(in_force.prepared, kept)
        else:
            present = self._inventory.venue(venue)
            base = self._venues.base(present, in_force, now_ms)
            prepared = self._preparer.prepared(present, base.taken(scene, now_ms, timetable_extra))
        confirmed_by = self._flashes.confirmed(prepared.venue, scene, flash_confirmed_by)
        what = Undertaking(
            prepared,
            _revision_of(rollouts),
            fade_ms=fade_ms,
            conduct=Conduct.AT_ONCE,
            flash_confirmed_by=confirmed_by,
            requested_by=requested_by,
        )
        halts = rollouts.running is not None
        view = self._venues.begin(venue, what, instead="another scene was taken at once")
        if halts:
            self.venue_changed(venue)  # where a change of the venue was on its way, it follows
        return view

    def back(self, venue: str, *, requested_by: str | None = None) -> RolloutView:
        """Take what was taken before the revision in force, as a new revision: it shows as if the take had not been.

        Venue and scene are as they then were, the timetable goes on. Who confirmed its flashes then answers for them
        again. Raises as `take` does.
        """
        return self._take_back(venue, None, requested_by)

    def follow_timetable(
        self, venue: str, fade_ms: int = DEFAULT_FADE_MS, *, requested_by: str | None = None
    ) -> RolloutView:
        """Let go of what a person took: what the timetable has on shows. ConflictError where it has nothing on."""
        rollouts = self._venues.of(venue)
        self._venues.await_turn(rollouts)
        in_force, present, now_ms = rollouts.standing.in_force, self._inventory.venue(venue), self._venues.now_ms()
        base = self._venues.base(present, in_force, now_ms)
        kept = base.refreshed(self._preparer.timetable(present, now_ms), now_ms).following_timetable()
        if not kept.timetable or kept.timetable[0].at_ms > now_ms:
            raise ConflictError("the venue's timetable has nothing on now; write one, or take a scene")
        prepared = self._preparer.prepared(present, kept)
        confirmed_by = self._flashes.carried_on(prepared, in_force)
        what = Undertaking(
            prepared,
            _revision_of(rollouts),
            fade_ms=fade_ms,
            flash_confirmed_by=confirmed_by,
            requested_by=requested_by,
        )
        return self._venues.begin(venue, what)

    def plan(self, venue: str, plan: RolloutPlan, requested_by: str | None) -> RolloutView:
        """Begin a rollout as planned; or write it down to wait for its turn, or for a second person's approval.

        Raises as `take` does, and InvalidError for a selection of what the venue does not have or a time that is past.
        """
        return self._planned.plan(venue, plan, requested_by)

    def prepared_for(self, venue: str, plan: RolloutPlan) -> Prepared:
        """What nodes would be given if the plan began now; nothing begins. Raises as `plan` does, but for flashes."""
        return self._planned.prepared_for(venue, plan)

    def approve(self, venue: str, revision: int, by: str) -> RolloutView:
        """A second person lets a planned rollout go. ConflictError where that is the one who asked for it."""
        row = self._planned.approve(venue, self._row(venue, revision), by)
        self._unattended.wake()
        return view_of(row)

    def pause(self, venue: str, revision: int) -> RolloutView:
        """Nothing further is taken until `resume`; gates go on watching what was taken."""
        return self._told(venue, revision, "pause", VenueRollouts.pause)

    def resume(self, venue: str, revision: int) -> RolloutView:
        view = self._told(venue, revision, "resume", VenueRollouts.resume)
        self._unattended.wake()
        return view

    def go(self, venue: str, revision: int) -> RolloutView:
        """Take the batch that is staged and waits for it.

        Where the timetable moved on while it waited, its documents would show that: it is then begun anew, under
        another revision, without waiting.
        """
        row = self._row(venue, revision)
        if row.state is RolloutState.STAGED and self._planned.outdated(venue, row):
            return self._planned.anew(venue, row)
        return self._told(venue, revision, "go", VenueRollouts.go)

    def halt(self, venue: str, revision: int, *, by: str | None = None) -> RolloutView:
        """End it: batches that were taken keep it, whatever waits is withdrawn."""
        row = self._row(venue, revision)
        who = by or "a person"
        if row.state is RolloutState.PLANNED:
            return self._planned.withdraw(venue, row, f"{who} withdrew it")
        rollouts, revision = self._venues.of(venue), row.revision
        return self._fleet.call(lambda now_s: rollouts.halt(revision, f"{who} halted it", now_s, revert=False))

    def revert(self, venue: str, revision: int, *, by: str | None = None) -> RolloutView:
        """End it and put back what was before, as a new revision, which is what is answered.

        Of one under way, of one halted with some batches taken, or of the revision in force.
        """
        row = self._row(venue, revision)
        rollouts = self._venues.of(venue)
        standing = rollouts.standing
        running = rollouts.running
        who = by or "a person"
        if running is not None and running.revision == row.revision and running.state is not RolloutState.TAKEN:
            view = self._fleet.call(lambda now_s: rollouts.halt(row.revision, f"{who} reverted it", now_s, revert=True))
            return rollouts.running or view
        self._venues.await_turn(rollouts)
        if any(one.revision == row.revision for one in standing.ahead.values()) and standing.in_force is not None:
            what = taking_back(row, standing.in_force, self._venues.inherited_back(venue), by)
            return self._venues.begin(venue, what)
        if standing.in_force is not None and standing.in_force.revision == row.revision:
            return self._take_back(venue, row.revision, by)
        raise ConflictError(f"revision {row.revision} is {row.state.value}, and nothing shows it: nothing to revert")

    def venue_changed(self, venue: str) -> None:
        """The inventory holds another venue than before: roll it out in the scene in force, as soon as can be."""
        self._unattended.want(venue, restate=False)

    def page(self, venue: str, below: int | None, limit: int) -> list[RolloutView]:
        """Rollouts of a venue, newest first."""
        self._venues.of(venue)
        return [self._live(venue, view_of(row)) for row in self._store.page(venue, below, limit)]

    def rollout(self, venue: str, revision: int) -> RolloutView:
        """By its revision, or the one under which it waited. NotFoundError where it never was, or was pruned."""
        return self._live(venue, view_of(self._row(venue, revision)))

    def wanted(self, venue: str, node: str) -> Held | None:
        """What a node is to show, a rollout in batches included; None where that is nothing. From any thread."""
        rollouts = self._venues.known(venue)
        followed = None if rollouts is None else rollouts.standing.follows(node)
        return None if followed is None else followed.held_by(node)

    def desired_revision(self, venue: str, node: str) -> int | None:
        """The revision that a node is to show; None where nothing is in force for it."""
        rollouts = self._venues.known(venue)
        followed = None if rollouts is None else rollouts.standing.follows(node)
        return None if followed is None else followed.revision

    def under_way(self, venue: str) -> RolloutView | None:
        """The rollout that is being staged, watched or about to be taken."""
        rollouts = self._venues.known(venue)
        return None if rollouts is None else rollouts.running

    def idle(self, venue: str) -> bool:
        """Whether no rollout is under way and every node that is on shows what it is to show."""
        rollouts = self._venues.known(venue)
        return rollouts is None or self._fleet.call(lambda _now_s: rollouts.idle)

    def in_force(self, venue: str) -> InForce | None:
        """What was last taken for the whole venue; its take time may still lie ahead."""
        rollouts = self._venues.known(venue)
        return None if rollouts is None else rollouts.standing.in_force

    def shown_before(self, venue: str) -> InForce | None:
        """What was in force before, which shows until the take time and is crossfaded from."""
        rollouts = self._venues.known(venue)
        return None if rollouts is None else rollouts.standing.before

    def ahead(self, venue: str) -> Mapping[str, InForce]:
        """Nodes that follow another revision than the one in force: batches that were taken, each with its take."""
        rollouts = self._venues.known(venue)
        return {} if rollouts is None else rollouts.standing.ahead

    def being_rolled_out(self, venue: str) -> Prepared | None:
        """What is being staged, watched or about to be taken; from any thread."""
        rollouts = self._venues.known(venue)
        return None if rollouts is None else rollouts.coming

    def at_work(self, venue: str) -> list[Prepared]:
        """Everything that nodes show, or are about to: in force, ahead in batches, being rolled out."""
        rollouts = self._venues.known(venue)
        if rollouts is None:
            return []
        standing, coming = rollouts.standing, rollouts.coming
        shown = [one.prepared for one in (standing.in_force, *standing.ahead.values()) if one is not None]
        return list({id(one): one for one in (*shown, coming) if one is not None}.values())

    def left_out(self, venue: str) -> dict[str, str]:
        """Entries of the timetable that do not count, by id, with the reason. Raises NotFoundError."""
        return self._preparer.left_out(self._inventory.venue(venue))

    def choices(self, venue: str) -> Choices | None:
        """What is chosen to show by the revision in force; None before there is one."""
        in_force = self.in_force(venue)
        return None if in_force is None else in_force.prepared.choices

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        rollouts = self._venues.known(node.venue)
        if rollouts is not None and leaf is not _ANSWER:
            rollouts.node_changed(node, leaf, now_s)

    def link_changed(self, connected: bool, now_s: float) -> None:
        self._venues.link_changed(connected, now_s)

    def tick(self, now_s: float) -> None:
        for venue in self._venues.tick(now_s):
            log.warning("nodes show revisions that this hub does not know; a newer one follows venue=%s", venue)
            self._unattended.want(venue, restate=True)
        self._unattended.tick(now_s)

    def _take_back(self, venue: str, reverts: int | None, requested_by: str | None) -> RolloutView:
        rollouts = self._venues.of(venue)
        self._venues.await_turn(rollouts)
        row = self._venues.before(venue)
        if row is None:
            raise ConflictError("no rollout was taken before the one in force; take a scene instead")
        now_ms = self._venues.now_ms()
        before = self._preparer.again(row)
        kept = before.kept.refreshed(self._preparer.timetable(before.venue, now_ms), now_ms)
        prepared = prepare_another(before, kept)
        what = Undertaking(
            prepared,
            _revision_of(rollouts) if reverts is None else row.back_to or 0,
            fade_ms=row.fade_ms or DEFAULT_FADE_MS,
            flash_confirmed_by=self._flashes.all_confirmed(prepared, row.flash_confirmed_by),
            requested_by=requested_by,
            reverts=reverts,
        )
        return self._venues.begin(venue, what)

    def _told(
        self, venue: str, revision: int, verb: str, tell: Callable[[VenueRollouts, int, float], RolloutView]
    ) -> RolloutView:
        row = self._row(venue, revision)
        if row.state is RolloutState.PLANNED and verb != "go":
            return self._planned.paused(venue, row, paused=verb == "pause")
        rollouts = self._venues.of(venue)
        return self._fleet.call(lambda now_s: tell(rollouts, row.revision, now_s))

    def _row(self, venue: str, revision: int) -> Rollout:
        self._venues.of(venue)
        return self._store.rollout(venue, revision)

    def _live(self, venue: str, view: RolloutView) -> RolloutView:
        running = self._venues.of(venue).running
        return running if running is not None and running.revision == view.revision else view


def _revision_of(rollouts: VenueRollouts) -> int:
    in_force = rollouts.standing.in_force
    return 0 if in_force is None else in_force.revision


def _holds(prepared: Prepared, scenes: set[str | None]) -> bool:
    """Whether every document of it has these scenes."""
    known = {scene.id for scene in next(iter(prepared.documents.values())).body.scenes} if prepared.documents else set()
    return all(scene is None or scene in known for scene in scenes)
