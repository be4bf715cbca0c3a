"""The rollouts of one venue on the fleet loop's thread: saves every transition, then does what the machine says."""

import logging
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from hub.desired import desired_payload
from hub.errors import ConflictError, UnavailableError
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from hub.rollout.machine import (
    Action,
    NodeRefusal,
    PublishDesired,
    PublishTake,
    RolloutEnded,
    RolloutHalted,
    RolloutMachine,
    RolloutTaken,
    RolloutTiming,
)
from hub.rollout.models import Rollout, RolloutState
from hub.rollout.reconciler import Reconciler
from hub.rollout.snapshot import InForce, Prepared
from hub.rollout.store import RolloutStore
from hub.rollout.view import RolloutView, refusals_json, view_of
from schemas import Leaf, Take, TakeTime, node_topic, take_topic

LARGEST_REVISION_JUMP: Final = 1_000_000
RESTATE_DELAY_S: Final = 60.0
LONGEST_RESTATE_DELAY_S: Final = 86_400.0

log = logging.getLogger(__name__)


@dataclass(slots=True)
class _Running:
    """The rollout under way. `machine` is None while a restarted hub waits to hear its nodes before going on."""

    row: Rollout
    prepared: Prepared
    machine: RolloutMachine | None
    told_staged: int = -1


class VenueRollouts:
    """At most one rollout under way; the revision in force kept true by the reconciler."""

    def __init__(
        self,
        venue: str,
        store: RolloutStore,
        fleet: FleetLoop,
        events: EventBus,
        timing: RolloutTiming,
        settled: Callable[[str, float], bool],
    ) -> None:
        self._venue = venue
        self._store = store
        self._fleet = fleet
        self._events = events
        self._timing = timing
        self._settled = settled
        self._reconciler = Reconciler()
        self._running: _Running | None = None
        self._actions: deque[Action] = deque()
        self._known_online: set[str] = set()
        self._newest = 0
        self._highest_held = 0
        self._contradicted = False
        self._restate_from_s = float("-inf")
        self._restate_delay_s = RESTATE_DELAY_S
        self.in_force: InForce | None = None
        self.before: InForce | None = None

    @property
    def running(self) -> RolloutView | None:
        """The rollout under way; from any thread."""
        running = self._running
        return None if running is None else view_of(running.row)

    @property
    def coming(self) -> Prepared | None:
        """What is being staged or about to be taken."""
        running = self._running
        return None if running is None else running.prepared

    @property
    def idle(self) -> bool:
        """Nothing under way and nobody differs."""
        return self._running is None and self._reconciler.idle

    def adopt(
        self, newest: Rollout | None, in_force: InForce | None, before: InForce | None, staging: Prepared | None
    ) -> None:
        """Take up, before the fleet loop starts, what an earlier run of the hub left. `staging` goes with `newest`."""
        self._newest = 0 if newest is None else newest.revision
        self.in_force, self.before = in_force, before
        if in_force is not None:
            self._reconciler.set_in_force(in_force.prepared.wanted(in_force.revision), in_force.take.at_ms / 1_000)
            self._clear_removed(before)
        if newest is None:
            return
        if newest.state is RolloutState.STAGING and staging is not None:
            self._running = _Running(newest, staging, None)
        elif newest.state is RolloutState.STAGING:
            reason = "nothing changed: this version of the hub cannot read what was being staged; take the scene again"
            self._store.save(
                _changed(newest, state=RolloutState.HALTED, ended_at_ms=newest.started_at_ms, reason=reason)
            )
            self._go_back()
        elif newest.state is RolloutState.TAKEN and in_force is not None:
            # Where the hub was killed between saving the take and publishing it, nobody has it yet.
            machine = RolloutMachine(newest.revision, {}, self._timing)
            machine.resume_taking(in_force.take.at_ms / 1_000)
            self._running = _Running(newest, in_force.prepared, machine)
        elif newest.state is RolloutState.HALTED:
            self._go_back()

    def ensure_free(self) -> None:
        """Raises ConflictError while a rollout is under way."""
        if self._running is not None:
            row = self._running.row
            scene = "darkness" if row.scene is None else f"scene {row.scene!r}"
            word = "is being staged" if row.state is RolloutState.STAGING else "is about to be taken"
            raise ConflictError(f"revision {row.revision} ({scene}) {word}; wait for its end and try again")

    def begin(self, prepared: Prepared, fade_ms: int, flash_confirmed_by: str | None, now_s: float) -> RolloutView:
        """Start a rollout. Raises ConflictError while another runs, UnavailableError before the fleet is known."""
        self.ensure_free()
        if not self._settled(self._venue, now_s):
            raise UnavailableError("the hub has no connection to its broker, or is still hearing its nodes; try again")
        row = self._new_row(prepared, fade_ms, flash_confirmed_by, now_s)
        row.nodes_expected = sum(state.online for state in self._fleet.state.of_venue(self._venue))
        self._store.save(row)
        self._newest = row.revision
        self._running = _Running(row, prepared, None)
        self._actions.clear()
        self._contradicted = False
        self._resume(self._running, now_s)
        self._tell()
        return view_of(row)

    def record_halted(
        self,
        prepared_from: str,
        scene: str | None,
        fade_ms: int,
        reason: str,
        refusals: list[NodeRefusal],
        now_s: float,
    ) -> None:
        """Write down a rollout that could not even be compiled, so that its reason is found where one looks."""
        self.ensure_free()
        row = Rollout(
            venue=self._venue,
            revision=self._next_revision(),
            snapshot_sha256=prepared_from,
            scene=scene,
            state=RolloutState.HALTED,
            fade_ms=fade_ms,
            started_at_ms=_ms(now_s),
            ended_at_ms=_ms(now_s),
            nodes_expected=0,
            reason=reason,
            refusals=refusals_json(refusals),
        )
        self._store.save(row)
        self._newest = row.revision
        self._events.publish("rollout", self._venue, view_of(row).model_dump(mode="json"))

    def clear(self) -> None:
        """The venue is gone: take its documents off the broker."""
        if self.in_force is not None:
            self._clear(self.in_force.prepared.documents)

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        if leaf is Leaf.TELEMETRY and node.node in self._known_online:
            return  # by far most messages; they tell nothing of revisions
        if node.online:
            self._known_online.add(node.node)
        else:
            self._known_online.discard(node.node)
        self._note_held(node)
        self._reconciler.observe(node.node, online=node.online, reported=node.reported, now_s=now_s)
        running = self._running
        if running is not None and running.machine is not None:
            actions = running.machine.observe(node.node, online=node.online, reported=node.reported, now_s=now_s)
            self._perform(actions, now_s)

    def tick(self, now_s: float) -> None:
        self._perform([], now_s)
        running = self._running
        if running is not None and not self._actions:
            if running.machine is not None:
                self._perform(running.machine.tick(now_s), now_s)
            elif self._settled(self._venue, now_s):
                self._resume(running, now_s)
            staging = running.row.state is RolloutState.STAGING
            if staging and running.machine is not None and running.machine.nodes_staged != running.told_staged:
                self._tell()
        if self.in_force is not None and (self._running is None or self._running.row.state is RolloutState.TAKEN):
            for node in self._reconciler.due(now_s):
                self._publish(node, self.in_force.revision, self.in_force.prepared, self.in_force.take)

    def wants_restating(self, now_s: float) -> bool:
        """Whether nodes show what this hub cannot overrule (a database was lost, say): only a newer revision can."""
        if not self._contradicted or self._running is not None or now_s < self._restate_from_s:
            return False
        self._restate_from_s = now_s + self._restate_delay_s
        self._restate_delay_s = min(2 * self._restate_delay_s, LONGEST_RESTATE_DELAY_S)
        return True

    def _note_held(self, node: NodeState) -> None:
        if node.reported is None:
            return
        showing = node.reported.showing
        for held in (node.reported.staged, showing):
            # A claim far beyond what is known is not believed: it would use up the numbers.
            if held is not None and held.revision <= self._newest + LARGEST_REVISION_JUMP:
                self._highest_held = max(self._highest_held, held.revision)
        if self.in_force is None or showing is None or not node.online or showing.revision > self._highest_held:
            return
        compiled = self.in_force.prepared.documents.get(node.node)
        if compiled is not None and showing != compiled.held(self.in_force.revision):
            self._contradicted |= showing.revision >= self.in_force.revision

    def _next_revision(self) -> int:
        return max(self._newest, self._highest_held) + 1

    def _new_row(self, prepared: Prepared, fade_ms: int, flash_confirmed_by: str | None, now_s: float) -> Rollout:
        return Rollout(
            venue=self._venue,
            revision=self._next_revision(),
            snapshot_sha256=prepared.snapshot_sha256,
            scene=prepared.scene,
            state=RolloutState.STAGING,
            fade_ms=fade_ms,
            started_at_ms=_ms(now_s),
            nodes_expected=0,
            flash_confirmed_by=flash_confirmed_by,
        )

    def _resume(self, running: _Running, now_s: float) -> None:
        revision = running.row.revision
        running.machine = RolloutMachine(revision, running.prepared.wanted(revision), self._timing)
        states = [(state.node, state.online, state.reported) for state in self._fleet.state.of_venue(self._venue)]
        self._perform(running.machine.start(states, now_s), now_s)

    def _perform(self, actions: list[Action], now_s: float) -> None:
        # An action leaves the queue when it is done: what could not be saved is tried again before anything follows.
        self._actions.extend(actions)
        while self._actions and self._running is not None:
            self._act(self._actions[0], self._running, now_s)
            self._actions.popleft()

    def _act(self, action: Action, running: _Running, now_s: float) -> None:
        match action:
            case PublishDesired(node):
                self._publish(node, running.row.revision, running.prepared, None)
            case RolloutTaken(at_s):
                self._take(running, at_s, now_s)
            case PublishTake():
                self._publish_take(running.row)
            case RolloutEnded():
                self._running = None
            case RolloutHalted(reason, refusals):
                self._halt(running, reason, refusals, now_s)

    def _take(self, running: _Running, at_s: float, now_s: float) -> None:
        row, machine = running.row, running.machine
        if machine is not None and now_s > at_s - self._timing.margin_s / 2:
            at_s = machine.set_take_time(now_s)
        self._close(running, RolloutState.TAKEN, now_s, take_at_ms=_ms(at_s))
        self.before = self.in_force
        take = TakeTime(at_ms=_ms(at_s), fade_ms=row.fade_ms)
        self.in_force = InForce(row.revision, running.prepared, take, row.flash_confirmed_by)
        self._reconciler.set_in_force(running.prepared.wanted(row.revision), at_s)
        self._reconciler.owe(running.prepared.documents)
        for state in self._fleet.state.of_venue(self._venue):
            self._reconciler.observe(state.node, online=state.online, reported=state.reported, now_s=now_s)
        self._clear_removed(self.before)

    def _halt(self, running: _Running, reason: str, refusals: tuple[NodeRefusal, ...], now_s: float) -> None:
        self._close(running, RolloutState.HALTED, now_s, reason=reason, refusals=refusals_json(refusals))
        self._running = None
        if self.in_force is not None:
            self._clear(running.prepared.documents.keys() - self.in_force.prepared.documents.keys())
        self._go_back()

    def _close(self, running: _Running, state: RolloutState, now_s: float, **facts: object) -> None:
        closed = _changed(running.row, state=state, ended_at_ms=_ms(now_s), **facts)
        if running.machine is not None:
            closed.nodes_staged = running.told_staged = running.machine.nodes_staged
            closed.nodes_expected = running.machine.nodes_expected
        self._store.save(closed)
        running.row = closed
        self._tell()

    def _go_back(self) -> None:
        """Everyone gets the documents in force again; where nothing is, what was staged is taken off the broker."""
        if self.in_force is not None:
            self._reconciler.owe(self.in_force.prepared.documents)
            return
        self._clear(state.node for state in self._fleet.state.of_venue(self._venue))

    def _clear_removed(self, before: InForce | None) -> None:
        if before is None or self.in_force is None:
            return
        self._clear(before.prepared.documents.keys() - self.in_force.prepared.documents.keys())

    def _clear(self, nodes: Iterable[str]) -> None:
        for node in nodes:
            self._fleet.publish(node_topic(self._venue, node, Leaf.DESIRED), b"", retain=True)

    def _publish(self, node: str, revision: int, prepared: Prepared, take: TakeTime | None) -> None:
        payload = desired_payload(self._venue, node, revision, prepared.documents[node], take)
        self._fleet.publish(node_topic(self._venue, node, Leaf.DESIRED), payload, retain=True)

    def _publish_take(self, row: Rollout) -> None:
        if row.take_at_ms is not None:
            take = Take(revision=row.revision, at_ms=row.take_at_ms, fade_ms=row.fade_ms)
            self._fleet.publish(take_topic(self._venue), take.model_dump_json().encode(), retain=False)

    def _tell(self) -> None:
        running = self._running
        if running is None:
            return
        if running.machine is not None and running.row.state is RolloutState.STAGING:
            running.told_staged = running.machine.nodes_staged
            running.row = _changed(
                running.row, nodes_staged=running.told_staged, nodes_expected=running.machine.nodes_expected
            )
        self._events.publish("rollout", self._venue, view_of(running.row).model_dump(mode="json"))


def _changed(row: Rollout, **facts: object) -> Rollout:
    # A new object, since other threads may be reading the row; `model_copy` would share SQLAlchemy's state with it.
    return Rollout(**{**row.model_dump(), **facts})


def _ms(now_s: float) -> int:
    return round(now_s * 1_000)
