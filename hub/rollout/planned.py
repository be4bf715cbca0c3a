"""Rollouts as people plan them: begun at once, or written down until it is their turn and a second person agrees."""

import logging
from typing import Final

from hub.errors import ConflictError, HubError, InvalidError, Mistake, NameNeededError
from hub.rollout.flash_guard import FlashGuard, FlashUnconfirmedError
from hub.rollout.models import Rollout, RolloutState
from hub.rollout.plan import RolloutPlan, batches_of
from hub.rollout.selection import select_nodes
from hub.rollout.snapshot import InForce, Prepared
from hub.rollout.undertaking import Undertaking, changed_row
from hub.rollout.venue_rollouts import VenueRollouts
from hub.rollout.venues import Venues
from hub.rollout.view import RolloutView, batches_from
from schemas import Venue, next_timed_take

MAX_WAITING: Final = 16

log = logging.getLogger(__name__)


class PlannedRollouts:
    """From any thread but the fleet loop's."""

    def __init__(self, venues: Venues, flashes: FlashGuard) -> None:
        self._venues = venues
        self._store = venues.store
        self._flashes = flashes

    def plan(self, venue: str, plan: RolloutPlan, requested_by: str | None) -> RolloutView:
        """As `RolloutService.plan` says."""
        rollouts, present = self._venues.of(venue), self._venues.inventory.venue(venue)
        if plan.take_at_ms is not None and plan.take_at_ms <= self._venues.now_ms():
            mistake = Mistake("body.take_at_ms", "this moment is past", "name one to come, or leave it out")
            raise InvalidError("the take cannot be in the past", [mistake])
        if present.approves_rollouts and requested_by is None:
            raise NameNeededError  # or whoever asked could approve it, too
        waiting = self._store.planned(venue)
        if len(waiting) >= MAX_WAITING:
            raise ConflictError(f"{len(waiting)} rollouts wait already; halt some of them")
        if not plan.queue and not present.approves_rollouts:
            self._venues.await_turn(rollouts)
        what = self._undertaking(rollouts, present, plan, requested_by)
        if present is not self._venues.inventory.venue(venue):
            raise ConflictError("the venue was changed while the scene was checked for flashes; plan it again")
        needs = present.approves_rollouts
        if not needs and not (plan.queue and waiting):
            try:
                return self._venues.begin(venue, what)
            except ConflictError:
                if not plan.queue:
                    raise
        self._venues.preparer.keep_snapshot(present)
        return self._venues.call(lambda now_s: rollouts.wait(what, awaits_approval=needs, now_s=now_s))

    def prepared_for(self, venue: str, plan: RolloutPlan) -> Prepared:
        """What nodes would be given if the plan began now; nothing begins. Raises as `plan` does, but for flashes."""
        rollouts, present = self._venues.of(venue), self._venues.inventory.venue(venue)
        return self._prepared(rollouts, present, plan, select_nodes(present, plan.select))

    def approve(self, venue: str, row: Rollout, by: str) -> Rollout:
        """The row as approved: of the venue as it now is."""
        if row.state is not RolloutState.PLANNED or not row.awaits_approval or row.approved_by is not None:
            raise ConflictError(f"revision {row.revision} does not wait for an approval: it is {row.state.value}")
        if row.requested_by is not None and row.requested_by.casefold() == by.casefold():
            raise ConflictError(f"{by} asked for this rollout, and the venue wants a second person to approve it")
        present = self._venues.inventory.venue(venue)
        self._venues.preparer.keep_snapshot(present)
        sha256 = self._venues.preparer.sha256(present)
        return self._keep(venue, changed_row(row, approved_by=by, snapshot_sha256=sha256, reason=None))

    def withdraw(self, venue: str, row: Rollout, why: str) -> RolloutView:
        """It waits no longer, and never begins."""
        ended = changed_row(
            row,
            state=RolloutState.HALTED,
            paused=False,
            ended_at_ms=self._venues.now_ms(),
            reason=f"halted: {why}; it had not begun, and nothing changed on any node",
        )
        rollouts = self._venues.of(venue)
        return self._venues.call(lambda _now_s: rollouts.keep(ended))

    def paused(self, venue: str, row: Rollout, *, paused: bool) -> RolloutView:
        """Let others go before it, or no longer."""
        rollouts, kept = self._venues.of(venue), changed_row(row, paused=paused)
        return self._venues.call(lambda _now_s: rollouts.keep(kept))

    def begin_next(self, venue: str) -> bool:
        """Begin the first that may. Whether one was begun, or given up."""
        rollouts = self._venues.known(venue)
        if rollouts is None or rollouts.running is not None or not self._venues.settled_now(venue):
            return False
        for row in self._store.planned(venue):
            if not row.paused and (not row.awaits_approval or row.approved_by is not None):
                return self._begin(venue, rollouts, row)
        return False

    def outdated(self, venue: str, row: Rollout) -> bool:
        """Whether the timetable has taken something since the documents of a staged rollout were made."""
        rollouts = self._venues.of(venue)
        coming, now_ms = rollouts.coming, self._venues.now_ms()
        if coming is None or row.plan is None:
            return False
        plan = RolloutPlan.model_validate_json(row.plan)
        if not plan.wait_for_go or row.takes_ms != "[]":
            return False
        first = next((nodes[0] for nodes in batches_from(row.batches)), next(iter(coming.documents)))
        body = coming.documents[first].body
        following = next_timed_take(body, body.showing_since_ms)
        return following is not None and following.at_ms <= now_ms

    def anew(self, venue: str, row: Rollout) -> RolloutView:
        """Begin a staged rollout again with documents of now; it then waits for nothing."""
        rollouts, present = self._venues.of(venue), self._venues.inventory.venue(venue)
        plan = RolloutPlan.model_validate_json(row.plan or "").model_copy(update={"wait_for_go": False})
        what = self._undertaking(rollouts, present, plan, row.requested_by)
        return self._venues.begin(venue, what, instead="it was begun anew, since the timetable has moved on,")

    def _begin(self, venue: str, rollouts: VenueRollouts, row: Rollout) -> bool:
        present = self._venues.inventory.venue(venue)
        changed = row.snapshot_sha256 != self._venues.preparer.sha256(present)
        if row.awaits_approval and changed:
            reason = "the venue was changed since it was approved: approve it again as it now is"
            self._keep(venue, changed_row(row, approved_by=None, reason=reason))
            return True
        try:
            plan = RolloutPlan.model_validate_json(row.plan or "")
            what = self._undertaking(rollouts, present, plan, row.requested_by, row)
            self._venues.begin(venue, what)
        except FlashUnconfirmedError as error:
            self.withdraw(venue, row, error.reason)
        except ConflictError:
            return False
        except HubError as error:
            log.warning("a planned rollout cannot begin venue=%s revision=%d reason=%s", venue, row.revision, error)
            self.withdraw(venue, row, error.detail)
        return True

    def _undertaking(
        self,
        rollouts: VenueRollouts,
        present: Venue,
        plan: RolloutPlan,
        requested_by: str | None,
        planned: Rollout | None = None,
    ) -> Undertaking:
        in_force = rollouts.standing.in_force
        nodes = select_nodes(present, plan.select)
        batches = batches_of(nodes, plan.batches)
        return Undertaking(
            self._prepared(rollouts, present, plan, nodes),
            0 if in_force is None else in_force.revision,
            fade_ms=plan.fade_ms,
            plan=plan,
            batches=batches if len(nodes) < len(present.nodes) or len(batches) > 1 else (),
            flash_confirmed_by=self._flashes.confirmed(present, plan.scene, plan.flash_confirmed_by),
            requested_by=requested_by,
            planned=planned,
        )

    def _prepared(self, rollouts: VenueRollouts, present: Venue, plan: RolloutPlan, nodes: tuple[str, ...]) -> Prepared:
        if not nodes:
            mistake = Mistake("body.select", "it selects no node", "select others, or leave it out for all of them")
            raise InvalidError("the rollout would reach no node", [mistake])
        now_ms, in_force = self._venues.now_ms(), rollouts.standing.in_force
        part = len(nodes) < len(present.nodes)
        if part:
            self._require_whole(present, in_force)
        base = self._venues.base(present, in_force, now_ms)
        since_ms = max(now_ms, plan.take_at_ms or 0)
        kept = base.taken_on(nodes, plan.scene, since_ms) if part else base.taken(plan.scene, since_ms)
        return self._venues.preparer.prepared(present, kept)

    def _require_whole(self, present: Venue, in_force: InForce | None) -> None:
        """A part of the nodes can take a scene only where the others may keep theirs."""
        if in_force is None:
            raise ConflictError(
                "nothing is in force yet that the other nodes could keep; take a scene everywhere first"
            )
        if in_force.prepared.snapshot_sha256 != self._venues.preparer.sha256(present):
            raise ConflictError(
                f"the venue was changed since revision {in_force.revision} and the change is not in force: "
                "roll it out everywhere first"
            )

    def _keep(self, venue: str, row: Rollout) -> Rollout:
        rollouts = self._venues.of(venue)
        self._venues.call(lambda _now_s: rollouts.keep(row))
        return row
