"""The rollouts of one venue on the fleet loop's thread: saves every transition, then does what the machine says."""

from collections import deque
from collections.abc import Callable, Iterable

from hub.errors import ConflictError, UnavailableError
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from hub.rollout.documents import Documents
from hub.rollout.gates import FindingSource, GateWatch
from hub.rollout.kept_choices import KeptChoices
from hub.rollout.machine import RolloutMachine
from hub.rollout.machine_actions import (
    Action,
    BatchTaken,
    NodeRefusal,
    PublishDesired,
    PublishTake,
    RolloutEnded,
    RolloutHalted,
    StepChanged,
)
from hub.rollout.machine_timing import RolloutTiming
from hub.rollout.models import UNDER_WAY, Rollout, RolloutState
from hub.rollout.numbers import RevisionNumbers
from hub.rollout.reconciler import Reconciler
from hub.rollout.snapshot import Prepared
from hub.rollout.standing import Left, Standing, in_force_of
from hub.rollout.store import RolloutStore
from hub.rollout.under_way import UnderWay, counted, ms, stepped, stopped, taken
from hub.rollout.undertaking import Undertaking, changed_row, halted_row, machine_of, row_of, taking_back
from hub.rollout.view import RolloutView, view_of
from hub.rollout.wording import halted, named, reverted, stands_apart, step_of
from schemas import Leaf

_TELEMETRY = Leaf.TELEMETRY  # a member of an enumeration is looked up slowly in Python 3.11


class VenueRollouts:
    """At most one rollout under way; what each node is to show kept true by the reconciler."""

    def __init__(
        self,
        venue: str,
        store: RolloutStore,
        fleet: FleetLoop,
        events: EventBus,
        timing: RolloutTiming,
        settled: Callable[[str, float], bool],
        findings: FindingSource,
    ) -> None:
        self._venue = venue
        self._store = store
        self._fleet = fleet
        self._events = events
        self._timing = timing
        self._settled = settled
        self._documents = Documents(venue, fleet)
        self._reconciler = Reconciler()
        self._numbers = RevisionNumbers()
        self._gates = GateWatch(findings)
        self._running: UnderWay | None = None
        self._actions: deque[Action] = deque()
        self._known_online: set[str] = set()
        self._unchanged: tuple[str, ...] = ()
        self.standing = Standing()

    @property
    def running(self) -> RolloutView | None:
        """The rollout under way; from any thread."""
        running = self._running
        return None if running is None else view_of(running.row)

    @property
    def coming(self) -> Prepared | None:
        """What is being staged, watched or about to be taken; from any thread."""
        running = self._running
        return None if running is None else running.prepared

    @property
    def idle(self) -> bool:
        return self._running is None and self._reconciler.idle

    def adopt(self, left: Left) -> None:
        """Take up, before the fleet loop starts, what an earlier run of the hub left."""
        self._numbers.begun(left.newest)
        self._stand(left.standing, None)
        begun = left.begun
        if begun is None:
            return
        if begun.state in UNDER_WAY and left.prepared is not None:
            self._running = UnderWay(begun, left.prepared)
        elif begun.state in UNDER_WAY:
            why = "this version of the hub cannot read what was being rolled out; take the scene again"
            reason = halted(begun, why, len(left.standing.nodes()), reverted_by=None)
            self._store.save(
                changed_row(begun, state=RolloutState.HALTED, ended_at_ms=begun.started_at_ms, reason=reason)
            )
            self._go_back()
        elif begun.state is RolloutState.TAKEN and left.prepared is not None:
            # Where the hub was killed between saving the take and publishing it, nobody has it yet.
            machine = RolloutMachine(begun.revision, (), {}, self._timing, state=begun.state)
            machine.takes_s = [(begun.take_at_ms or 0) / 1_000]
            self._running = UnderWay(begun, left.prepared, machine)
        elif begun.state is RolloutState.HALTED:
            self._go_back()

    def ensure_free(self) -> None:
        """Raises ConflictError while a rollout is under way."""
        if self._running is not None:
            raise ConflictError(f"{named(self._running.row)}; wait for its end, halt it, or queue behind it")

    def begin(self, what: Undertaking, now_s: float, *, instead: str | None = None) -> RolloutView:
        """Start a rollout; `instead`, a reason, halts the one under way, whose nodes all get the new revision.

        Raises ConflictError while another runs, or was halted on a part of the nodes and this one would make a third
        revision; UnavailableError before the fleet is known.
        """
        if instead is None:
            self.ensure_free()
        if self.standing.ahead and what.batches:
            raise ConflictError(stands_apart(next(iter(self.standing.ahead.values())).revision))
        if not self._settled(self._venue, now_s):
            raise UnavailableError("the hub has no connection to its broker, or is still hearing its nodes; try again")
        planned = what.planned
        revision = self._numbers.next(None if planned is None else planned.revision)
        row = row_of(self._venue, what, revision, ms(now_s), RolloutState.STAGING)
        row.nodes_expected = sum(state.online for state in self._fleet.state.of_venue(self._venue))
        ended = self._ended_for(f"{instead} as revision {revision}", now_s)
        renumbered = planned if planned is not None and planned.revision != revision else None
        self._store.save(row, *ended, instead_of=renumbered)
        for one in ended:
            self._events.publish("rollout", self._venue, view_of(one).model_dump(mode="json"))
        self._numbers.begun(revision)
        self._running = running = UnderWay(row, what.prepared)
        self._actions.clear()
        self._unchanged = ()
        self._resume(running, now_s)
        self._tell()
        return view_of(row)

    def wait(self, what: Undertaking, *, awaits_approval: bool, now_s: float) -> RolloutView:
        """Write down a rollout that waits for its turn, or for a second person."""
        row = row_of(self._venue, what, self._numbers.next(), ms(now_s), RolloutState.PLANNED)
        row.awaits_approval = awaits_approval
        self._numbers.newest = row.revision
        return self.keep(row)

    def keep(self, row: Rollout) -> RolloutView:
        """Save and tell a row that is not under way."""
        self._store.save(row)
        view = view_of(row)
        self._events.publish("rollout", self._venue, view.model_dump(mode="json"))
        return view

    def record_halted(
        self, snapshot_sha256: str, kept: KeptChoices, reason: str, refusals: list[NodeRefusal], now_s: float
    ) -> None:
        """Write down a rollout that could not even be compiled, so that its reason is found where one looks."""
        self.ensure_free()
        revision = self._numbers.next()
        self.keep(halted_row(self._venue, revision, snapshot_sha256, kept, ms(now_s), reason, refusals))
        self._numbers.newest = revision

    def pause(self, revision: int, now_s: float) -> RolloutView:
        """Raises ConflictError for one that is not under way, or cannot be paused any more."""
        running, machine = self._under_way(revision)
        return self._after(running, machine.pause(), now_s)

    def resume(self, revision: int, now_s: float) -> RolloutView:
        """Raises as `pause` does."""
        running, machine = self._under_way(revision)
        return self._after(running, machine.resume(now_s), now_s)

    def go(self, revision: int, now_s: float) -> RolloutView:
        """Take the staged batch now. Raises ConflictError where none waits for it."""
        running, machine = self._under_way(revision)
        if running.row.state is not RolloutState.STAGED or machine.paused or not machine.course.wait_for_go:
            raise ConflictError(f"revision {revision} does not wait for a go: it is {step_of(running.row)}")
        return self._after(running, machine.go(now_s), now_s)

    def halt(self, revision: int, why: str, now_s: float, *, revert: bool) -> RolloutView:
        """Raises as `pause` does."""
        running, machine = self._under_way(revision)
        return self._after(running, machine.halt(why, revert=revert), now_s)

    def nodes_at_rest(self) -> frozenset[str]:
        """Nodes that are to show something, while nothing is under way."""
        return frozenset() if self._running is not None else self.standing.nodes()

    def kept_document(self, node: str) -> bytes | None:
        """What the broker is to keep for a node; None while it is about to get another, or is to have none."""
        followed = self.standing.follows(node)
        if followed is None or self._running is not None or self._reconciler.owes(node):
            return None
        return self._documents.payload(node, followed.revision, followed.prepared, followed.take_of(node))

    def owe(self, nodes: Iterable[str]) -> None:
        """Publish their documents again."""
        self._reconciler.owe(nodes)

    def clear(self) -> None:
        """The venue is gone: take its documents off the broker."""
        self._documents.clear(self.standing.nodes())

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        if leaf is _TELEMETRY and node.node in self._known_online:
            return  # by far most messages; they tell nothing of revisions
        (self._known_online.add if node.online else self._known_online.discard)(node.node)
        self._numbers.note(node, self.standing)
        self._reconciler.observe(node.node, online=node.online, reported=node.reported, now_s=now_s)
        running = self._running
        if running is not None and running.machine is not None:
            actions = running.machine.observe(node.node, online=node.online, reported=node.reported, now_s=now_s)
            self._perform(actions, now_s)

    def tick(self, now_s: float) -> None:
        self._perform([], now_s)
        running = self._running
        if running is not None and not self._actions:
            if running.machine is None:
                if self._settled(self._venue, now_s):
                    self._resume(running, now_s)
            else:
                self._perform(running.machine.tick(now_s), now_s)
                self._perform(self._watch(running, running.machine, now_s), now_s)
            staging = running is self._running and running.row.state is RolloutState.STAGING
            if staging and running.machine is not None and running.machine.nodes_staged != running.told_staged:
                self._tell()
        self._reconcile(now_s)

    def wants_restating(self, now_s: float) -> bool:
        """Whether nodes show what this hub cannot overrule: only a newer revision can."""
        return self._running is None and self._numbers.wants_restating(now_s)

    def _reconcile(self, now_s: float) -> None:
        running = self._running
        if running is not None and running.machine is None and not running.decided:
            return  # its nodes are about to be given its documents
        in_hand = frozenset[str]() if running is None or running.machine is None else running.machine.in_hand
        for node in self._reconciler.due(now_s):
            followed = self.standing.follows(node)
            if followed is not None and node not in in_hand:
                self._documents.publish(node, followed.revision, followed.prepared, followed.take_of(node))

    def _watch(self, running: UnderWay, machine: RolloutMachine, now_s: float) -> list[Action]:
        """What the gates say of the batch that soaks."""
        if running.row.state is not RolloutState.SOAKING or machine.state is not RolloutState.SOAKING:
            return []
        states = self._fleet.state.of_venue(self._venue)
        failures = self._gates.failures(running.row, machine, running.prepared, states, now_s)
        return machine.gates_failed(failures) if failures else []

    def _under_way(self, revision: int) -> tuple[UnderWay, RolloutMachine]:
        running = self._running
        if running is None or running.row.revision != revision or running.decided:
            raise ConflictError(f"revision {revision} is not under way any more")
        if running.machine is None:
            raise UnavailableError("the hub is still hearing its nodes; try again in some seconds")
        return running, running.machine

    def _after(self, running: UnderWay, actions: list[Action], now_s: float) -> RolloutView:
        self._perform(actions, now_s)
        return view_of(running.row)

    def _ended_for(self, why: str, now_s: float) -> list[Rollout]:
        """The row of the rollout that another one takes the place of."""
        running = self._running
        if running is None or running.decided:
            return []
        nodes = len(running.prepared.documents)
        reason = halted(running.row, why, nodes, reverted_by=None)
        return [changed_row(running.row, state=RolloutState.HALTED, ended_at_ms=ms(now_s), reason=reason)]

    def _resume(self, running: UnderWay, now_s: float) -> None:
        running.machine = machine_of(running.row, running.prepared, self._timing)
        states = [(state.node, state.online, state.reported) for state in self._fleet.state.of_venue(self._venue)]
        self._perform(running.machine.start(states, now_s), now_s)

    def _perform(self, actions: list[Action], now_s: float) -> None:
        # An action leaves the queue when it is done: what could not be saved is tried again before anything follows.
        self._actions.extend(actions)
        while self._actions and self._running is not None:
            self._act(self._actions[0], self._running, now_s)
            self._actions.popleft()

    def _act(self, action: Action, running: UnderWay, now_s: float) -> None:
        machine = running.machine
        if machine is None:
            return
        match action:
            case PublishDesired(node):
                self._documents.publish(node, running.row.revision, running.prepared, None)
            case StepChanged():
                self._step(running, machine, now_s)
            case BatchTaken():
                self._take(running, machine, action.at_s, now_s)
            case PublishTake():
                self._documents.publish_take(running.row)
            case RolloutEnded():
                self._reconciler.owe(self._unchanged)
                self._unchanged = ()
                self._running = None
            case RolloutHalted():
                self._halt(running, action, now_s)

    def _step(self, running: UnderWay, machine: RolloutMachine, now_s: float) -> None:
        self._save(running, stepped(running.row, machine, now_s))
        if running.decided:
            self._put_in_force(running, machine, now_s)

    def _take(self, running: UnderWay, machine: RolloutMachine, at_s: float, now_s: float) -> None:
        if now_s > at_s - machine.margin_s / 2:
            machine.set_take_time(now_s)
        running.told_staged = machine.nodes_staged
        self._save(running, taken(running.row, machine, now_s))
        if running.decided:
            self._put_in_force(running, machine, now_s)
        else:
            self._stand(self.standing.with_batch(running.row, running.prepared), now_s)
            self._reconciler.owe(machine.batches[len(machine.takes_s) - 1])

    def _save(self, running: UnderWay, row: Rollout) -> None:
        back = None
        if row.state is RolloutState.TAKEN and row.reverts is not None:
            undone = self._store.found(self._venue, row.reverts)
            if undone is not None:
                back = changed_row(undone, state=RolloutState.REVERTED, reason=reverted(undone, row.revision))
        self._store.save(row, *([] if back is None else [back]))
        running.row = row
        if back is not None:
            self._events.publish("rollout", self._venue, view_of(back).model_dump(mode="json"))
        self._tell()

    def _put_in_force(self, running: UnderWay, machine: RolloutMachine, now_s: float) -> None:
        in_force = in_force_of(running.row, running.prepared)
        if in_force is None:
            return
        self._stand(self.standing.with_in_force(in_force), now_s)
        selected = {node for batch in machine.batches for node in batch}
        self._unchanged = tuple(node for node in running.prepared.documents if node not in selected)
        self._reconciler.owe(selected)

    def _stand(self, standing: Standing, now_s: float | None) -> None:
        before, self.standing = self.standing, standing
        shows_from_ms = [one.take.at_ms for one in (standing.in_force, *standing.ahead.values()) if one is not None]
        self._reconciler.set_in_force(standing.wanted(), max(shows_from_ms, default=0) / 1_000)
        if now_s is None:
            gone = frozenset[str]() if standing.before is None else frozenset(standing.before.prepared.documents)
        else:
            gone = before.nodes()
            for state in self._fleet.state.of_venue(self._venue):
                self._reconciler.observe(state.node, online=state.online, reported=state.reported, now_s=now_s)
        if standing.in_force is not None:
            self._documents.clear(gone - standing.nodes())

    def _halt(self, running: UnderWay, action: RolloutHalted, now_s: float) -> None:
        in_force, row = self.standing.in_force, running.row
        follows: UnderWay | None = None
        if in_force is not None and action.revert and row.takes_ms != "[]":
            back = taking_back(row, in_force, self._back_to())
            follows = UnderWay(
                row_of(self._venue, back, self._numbers.next(), ms(now_s), RolloutState.STAGING), back.prepared
            )
        by = None if follows is None else follows.row.revision
        reason = halted(row, action.why, len(running.prepared.documents), reverted_by=by)
        ended = stopped(row, running.machine, action, reason, now_s)
        self._store.save(ended, *([] if follows is None else [follows.row]))
        running.row = ended
        self._tell()
        self._running = follows
        self._documents.clear(running.prepared.documents.keys() - self.standing.nodes())
        if follows is None:
            self._go_back()
            return
        self._numbers.begun(follows.row.revision)
        self._tell()

    def _back_to(self) -> int:
        """What `back` finds after the revision in force was put back."""
        in_force = self.standing.in_force
        row = None if in_force is None else self._store.found(self._venue, in_force.revision)
        return 0 if row is None or row.back_to is None else row.back_to

    def _go_back(self) -> None:
        """Everyone gets the documents in force again; where nothing is, what was staged is taken off the broker."""
        if self.standing.nodes():
            self._reconciler.owe(self.standing.nodes())
            return
        self._documents.clear(state.node for state in self._fleet.state.of_venue(self._venue))

    def _tell(self) -> None:
        running = self._running
        if running is None:
            return
        if running.machine is not None and running.row.state is RolloutState.STAGING:
            running.told_staged = running.machine.nodes_staged
            running.row = counted(running.row, running.machine)
        self._events.publish("rollout", self._venue, view_of(running.row).model_dump(mode="json"))
