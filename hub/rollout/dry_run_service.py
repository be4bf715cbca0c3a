"""Dry runs against what the hub knows: what nodes are to show, which are online, what the flash check has found."""

import time
from collections.abc import Callable
from typing import Final

from hub.fleet.loop import FleetLoop
from hub.rollout.dry_run import DryRun, Situation, dry_run
from hub.rollout.plan import RolloutPlan
from hub.rollout.preparing import FlashesKnown
from hub.rollout.service import RolloutService
from hub.rollout.venues import VenueSource
from schemas import DesiredBody, Venue

UNCHECKED: Final = "was not checked for flashes yet; the rollout would wait for that"


class DryRunService:
    """From any thread but the fleet loop's."""

    def __init__(
        self,
        inventory: VenueSource,
        rollouts: RolloutService,
        fleet: FleetLoop,
        flashes_known: FlashesKnown,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self._inventory = inventory
        self._rollouts = rollouts
        self._fleet = fleet
        self._flashes_known = flashes_known
        self._clock = clock

    def dry_run(self, venue: str, plan: RolloutPlan) -> DryRun:
        """Raises as `RolloutService.plan` does for what it could not compile or select."""
        prepared = self._rollouts.prepared_for(venue, plan)
        in_force, ahead = self._rollouts.in_force(venue), self._rollouts.ahead(venue)
        shown = {} if in_force is None else dict.fromkeys(in_force.prepared.documents, in_force)

        def held(node: str) -> DesiredBody | None:
            followed = ahead.get(node, shown.get(node))
            compiled = None if followed is None else followed.prepared.documents.get(node)
            return None if compiled is None else compiled.body

        under_way = self._rollouts.under_way(venue)
        situation = Situation(
            online=self._online(venue),
            under_way=None if under_way is None else under_way.revision,
            flashes=self._flashes(prepared.venue, plan.scene),
            now_ms=round(self._clock() * 1_000),
        )
        return dry_run(prepared.venue, plan, prepared, held, shown.keys() | ahead.keys(), situation)

    def _online(self, venue: str) -> frozenset[str]:
        return self._fleet.call(
            lambda _now_s: frozenset(one.node for one in self._fleet.state.of_venue(venue) if one.online)
        )

    def _flashes(self, venue: Venue, scene: str | None) -> str | None:
        wanted = next((one for one in venue.scenes if one.id == scene), None)
        if wanted is None:
            return None
        found = self._flashes_known(venue, wanted)
        if found is None:
            return UNCHECKED
        return found.summary if found.fails else None
