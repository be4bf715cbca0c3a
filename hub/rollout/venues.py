"""The venues whose rollouts this hub runs: taken up from the database, known to the fleet loop, begun on it."""

import logging
import time
from collections.abc import Callable, Iterable
from typing import Final, Protocol, TypeVar

from pydantic import ValidationError

from hub.desired.work_light import WORK_LIGHT
from hub.errors import HubError, UnavailableError
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.rollout.gates import FindingSource, NoFindings
from hub.rollout.kept_choices import KeptChoices, KeptChosen
from hub.rollout.machine_timing import RolloutTiming
from hub.rollout.models import UNDER_WAY, Rollout, RolloutState
from hub.rollout.preparing import Preparer
from hub.rollout.snapshot import InForce, Prepared
from hub.rollout.standing import Left, Standing, ahead_of, in_force_of
from hub.rollout.store import RolloutStore
from hub.rollout.undertaking import Undertaking
from hub.rollout.venue_rollouts import VenueRollouts
from hub.rollout.view import RolloutView
from schemas import Venue

T = TypeVar("T")

LONGEST_TURN_S: Final = 5.0

log = logging.getLogger(__name__)


class VenueSource(Protocol):
    """Where venues come from: the inventory."""

    def venue_ids(self) -> list[str]: ...

    def venue(self, venue: str) -> Venue:
        """Raises NotFoundError for one that is not there."""
        ...


class Venues:
    """What service and unattended work share. Its calls come from any thread unless they say otherwise."""

    def __init__(
        self,
        store: RolloutStore,
        inventory: VenueSource,
        fleet: FleetLoop,
        events: EventBus,
        timing: RolloutTiming,
        preparer: Preparer,
    ) -> None:
        self.store = store
        self.inventory = inventory
        self.preparer = preparer
        self._fleet = fleet
        self._events = events
        self._timing = timing
        self.findings: FindingSource = NoFindings()
        self._venues: dict[str, VenueRollouts] = {}
        self._connected_s: float | None = None
        self._listed_s: dict[str, float] = {}

    def known(self, venue: str) -> VenueRollouts | None:
        return self._venues.get(venue)

    def all(self) -> list[str]:
        return list(self._venues)

    def nodes_at_rest(self) -> list[tuple[str, str]]:
        """(venue, node) to show something, of venues where nothing is under way; on the fleet loop's thread."""
        return [(venue, node) for venue, one in self._venues.items() for node in one.nodes_at_rest()]

    def kept_document(self, venue: str, node: str) -> bytes | None:
        """What the broker is to keep for a node, if that is settled; on the fleet loop's thread."""
        rollouts = self._venues.get(venue)
        return None if rollouts is None else rollouts.kept_document(node)

    def owe(self, venue: str, nodes: Iterable[str]) -> None:
        """Publish their documents again; on the fleet loop's thread."""
        rollouts = self._venues.get(venue)
        if rollouts is not None:
            rollouts.owe(nodes)

    def call(self, work: Callable[[float], T]) -> T:
        """The result of `work(now_s)` on the fleet loop's thread."""
        return self._fleet.call(work)

    def of(self, venue: str) -> VenueRollouts:
        """Raises NotFoundError for a venue that the inventory does not have."""
        rollouts = self._venues.get(venue)
        if rollouts is None:
            self.inventory.venue(venue)
            rollouts = self._fleet.call(lambda _now_s: self.adopt(venue))
        return rollouts

    def adopt(self, venue: str) -> VenueRollouts:
        """Take up what the database holds of a venue; before the fleet loop starts, or on its thread."""
        if venue in self._venues:
            return self._venues[venue]
        rollouts = VenueRollouts(
            venue, self.store, self._fleet, self._events, self._timing, self.settled, self.findings
        )
        rollouts.adopt(self._left(venue))
        self._venues[venue] = rollouts
        return rollouts

    def forget(self, venue: str) -> None:
        """The venue is gone: its documents too."""
        rollouts = self._venues.pop(venue, None)
        self._listed_s.pop(venue, None)
        if rollouts is not None:
            self._fleet.call(lambda _now_s: rollouts.clear())

    def link_changed(self, connected: bool, now_s: float) -> None:
        """On the fleet loop's thread."""
        self._connected_s = now_s if connected else None

    def tick(self, now_s: float) -> list[str]:
        """On the fleet loop's thread; venues whose nodes show what this hub does not know."""
        contradicted: list[str] = []
        for venue, rollouts in list(self._venues.items()):
            self._listed_s.setdefault(venue, now_s)
            rollouts.tick(now_s)
            if rollouts.wants_restating(now_s):
                contradicted.append(venue)
        return contradicted

    def settled(self, venue: str, now_s: float) -> bool:
        """Whether the hub has heard the venue's nodes since it listens to them, or waited long enough for them."""
        if self._connected_s is None or venue not in self._listed_s:
            return False
        silent = any(state.needs_rebirth for state in self._fleet.state.of_venue(venue))
        listens_s = max(self._connected_s, self._listed_s[venue])
        return now_s >= listens_s + (self._timing.longest_settle_s if silent else self._timing.settle_s)

    def settled_now(self, venue: str) -> bool:
        return self._fleet.call(lambda now_s: self.settled(venue, now_s))

    def now_ms(self) -> int:
        """Show time."""
        return round(self._fleet.call(lambda now_s: now_s) * 1_000)

    def await_turn(self, rollouts: VenueRollouts) -> None:
        """A decided take is over in a moment, so a person who takes two scenes in a row is not turned away for it.

        Raises ConflictError while another rollout is under way.
        """
        deadline_s = time.monotonic() + LONGEST_TURN_S
        while (running := rollouts.running) is not None and running.state is RolloutState.TAKEN:
            if time.monotonic() > deadline_s:
                break
            time.sleep(0.05)
        rollouts.ensure_free()

    def begin(self, venue: str, what: Undertaking, *, instead: str | None = None) -> RolloutView:
        """Raises UnavailableError without a broker, ConflictError while another is under way, but for `instead`."""
        rollouts = self.of(venue)
        deadline_s = time.monotonic() + self._timing.longest_settle_s + 1.0
        while not self.settled_now(venue):
            if self._connected_s is None or time.monotonic() > deadline_s:
                raise UnavailableError("the hub has no connection to its broker; nothing was changed")
            time.sleep(0.05)
        view = self._fleet.call(lambda now_s: rollouts.begin(what, now_s, instead=instead))
        self.store.prune(venue)
        return view

    def base(self, present: Venue, in_force: InForce | None, now_ms: int) -> KeptChoices:
        """What a revision of the present venue shows where nobody chooses otherwise.

        That is what is in force, where the venue still has it, and the timetable as it now is; the very same choices
        where the venue is the same.
        """
        if in_force is not None and in_force.prepared.snapshot_sha256 == self.preparer.sha256(present):
            return in_force.prepared.kept
        if in_force is None:
            chosen = KeptChoices(common=KeptChosen(scene=present.opening_scene, opened_ms=now_ms))
        else:
            scenes = frozenset(scene.id for scene in present.scenes) | {WORK_LIGHT}
            nodes = frozenset(node.id for node in present.nodes)
            chosen = in_force.prepared.kept.only(scenes, nodes, present.opening_scene)
        return chosen.refreshed(self.preparer.timetable(present, now_ms), now_ms)

    def inherited_back(self, venue: str) -> int:
        """What `back` takes of a revision that shows the same as the one in force."""
        row = self.store.newest_taken(venue)
        return 0 if row is None else self._back_of(row)

    def before(self, venue: str) -> Rollout | None:
        """The revision that `back` takes; None where there is none, or it was pruned."""
        back_to = self.inherited_back(venue)
        return self.store.found(venue, back_to) if back_to else None

    def _back_of(self, row: Rollout) -> int:
        if row.back_to is not None:
            return row.back_to
        earlier = self.store.newest_taken(row.venue, row.revision)  # a row of a hub that did not write it down
        return 0 if earlier is None else earlier.revision

    def _left(self, venue: str) -> Left:
        newest, begun = self.store.newest(venue), self.store.newest_begun(venue)
        row = self.store.newest_taken(venue)
        in_force = None if row is None else self._in_force(row)
        before = None
        if row is not None and (earlier := self.store.newest_taken(venue, row.revision)) is not None:
            before = self._in_force(earlier)
        part = self.store.part_taken(venue, 0 if row is None else row.revision)
        prepared = None
        if begun is not None and begun.state in UNDER_WAY:
            prepared = self._prepared(begun)
        elif begun is not None and in_force is not None and begun.revision == in_force.revision:
            prepared = in_force.prepared
        ahead: dict[str, InForce] = {}
        if part is not None:
            same = begun is not None and begun.state in UNDER_WAY and begun.revision == part.revision
            taken = prepared if same else self._prepared(part)
            ahead = {} if taken is None else ahead_of(part, taken)
        return Left(0 if newest is None else newest.revision, Standing(in_force, before, ahead), begun, prepared)

    def _in_force(self, row: Rollout) -> InForce | None:
        prepared = self._prepared(row)
        return None if prepared is None else in_force_of(row, prepared)

    def _prepared(self, row: Rollout) -> Prepared | None:
        try:
            return self.preparer.again(row)
        except UnavailableError:
            raise  # a database that is away says nothing about what it keeps
        except (HubError, ValidationError) as error:
            log.error("a kept rollout no longer compiles revision=%d reason=%s", row.revision, str(error)[:400])
            return None
