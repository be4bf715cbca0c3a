"""The one thread that owns all live state: it applies what nodes say and tells its listeners."""

import logging
import threading
import time
from collections.abc import Callable, Iterable
from concurrent.futures import Future
from typing import Final, Protocol, TypeVar

from hub.errors import UnavailableError
from hub.fleet.inbox import Inbox
from hub.fleet.intake import Intake
from hub.fleet.state import FleetState, NodeState
from schemas import Leaf

T = TypeVar("T")

TICK_S: Final = 0.1
CALL_TIMEOUT_S: Final = 30.0

log = logging.getLogger(__name__)


class FleetListener(Protocol):
    """Told of every change, on the loop's thread; `now_s` is show time. One that raises is logged and kept.

    Whoever hears of presence hears of every node that goes on or off, also where silence or another message tells.
    """

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float, /) -> None: ...

    def link_changed(self, connected: bool, now_s: float, /) -> None: ...

    def tick(self, now_s: float, /) -> None: ...


Hearer = Callable[[NodeState, Leaf, float], None]


class Publisher(Protocol):
    """The way out: the hub's link to the broker."""

    def publish(self, topic: str, payload: bytes, *, retain: bool) -> None: ...

    def watch(self, venues: Iterable[str]) -> None: ...


class FleetLoop:
    """Messages come in by `inbox`; other threads come in by `call`; listeners run on this thread only."""

    def __init__(self, clock: Callable[[], float] = time.time) -> None:
        self.state = FleetState()
        self.inbox = Inbox()
        self._clock = clock
        self._intake = Intake(self.state)
        self._listeners: list[FleetListener] = []
        self._hearers: dict[Leaf, list[Hearer]] = {leaf: [] for leaf in Leaf}
        self._publisher: Publisher | None = None
        self._venues: set[str] = set()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="fleet-loop", daemon=True)

    def add_listener(self, listener: FleetListener, leaves: Iterable[Leaf] = tuple(Leaf)) -> None:
        """Before `start`, in the order in which they are to be told. `node_changed` is called for these leaves only."""
        self._listeners.append(listener)
        for leaf in leaves:
            self._hearers[leaf].append(listener.node_changed)

    def attach(self, publisher: Publisher) -> None:
        """Before `start`: where `publish` goes."""
        self._publisher = publisher

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Apply what has arrived, then end the thread."""
        self._stopping.set()
        self.inbox.put_call(lambda: None)
        if self._thread.is_alive():
            self._thread.join(CALL_TIMEOUT_S)

    def call(self, work: Callable[[float], T]) -> T:
        """The result of `work(now_s)`, run on the loop's thread; raises what it raises.

        From the loop's own thread it runs at once. Raises UnavailableError when the loop does not get to it.
        """
        if threading.current_thread() is self._thread:
            return work(self._clock())
        future: Future[T] = Future()

        def run() -> None:
            if not future.set_running_or_notify_cancel():
                return
            try:
                future.set_result(work(self._clock()))
            except BaseException as error:
                future.set_exception(error)

        if self._stopping.is_set() or not self.inbox.put_call(run):
            raise UnavailableError("the hub is stopping or overloaded; try again in a moment")
        try:
            return future.result(CALL_TIMEOUT_S)
        except TimeoutError as error:
            future.cancel()
            raise UnavailableError("the hub's fleet loop did not answer in time; try again in a moment") from error

    def publish(self, topic: str, payload: bytes, *, retain: bool) -> None:
        """Send at QoS 1. Never blocks; while the link is down the newest retained payload of each topic waits."""
        if self._publisher is not None:
            self._publisher.publish(topic, payload, retain=retain)

    def set_roster(self, venue: str, nodes: Iterable[str]) -> None:
        """Hold exactly these nodes of the venue and listen to it; from any thread, before `start` too."""
        names = tuple(nodes)

        def work(_now_s: float) -> None:
            self.state.set_roster(venue, names)
            self._venues.add(venue)
            self._watch()

        self.arrange(work)

    def forget_venue(self, venue: str) -> None:
        """Stop listening to a venue and drop its nodes' states."""

        def work(_now_s: float) -> None:
            self.state.forget_venue(venue)
            self._venues.discard(venue)
            self._watch()

        self.arrange(work)

    def link_changed(self, connected: bool) -> None:
        """Told by the link, from its thread."""

        def work() -> None:
            if not connected:
                self.state.forget_sequences()
            self._tell(lambda listener: listener.link_changed(connected, self._clock()))

        self.inbox.put_call(work)

    def announce(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        """Tell the listeners of a change that no message brought; on the loop's thread."""
        for hear in self._hearers[leaf]:
            try:
                hear(node, leaf, now_s)
            except Exception:
                log.exception("listener failed listener=%s node=%s/%s", _listener_of(hear), *node.key)

    def arrange(self, work: Callable[[float], None]) -> None:
        """Run `work(now_s)` where it may touch what the loop owns: at once before `start`, by `call` afterwards."""
        if self._thread.ident is None:
            work(self._clock())
        else:
            self.call(work)

    def _watch(self) -> None:
        if self._publisher is not None:
            self._publisher.watch(sorted(self._venues))

    def _run(self) -> None:
        next_tick = time.monotonic()
        while not self._stopping.is_set():
            messages, calls = self.inbox.take(next_tick - time.monotonic())
            for message in messages:
                applied = self._intake.apply(message)
                if applied is not None:
                    if applied.is_back:
                        self.announce(applied.node, Leaf.PRESENCE, message.received_at_s)
                    self.announce(applied.node, applied.leaf, message.received_at_s)
                if time.monotonic() >= next_tick:
                    next_tick = self._tick()
            for call in calls:
                call()
            if time.monotonic() >= next_tick:
                next_tick = self._tick()
        for call in self.inbox.take(0)[1]:
            call()  # somebody waits for it

    def _tick(self) -> float:
        now_s = self._clock()
        self.state.dropped = self.inbox.dropped
        self._tell(lambda listener: listener.tick(now_s))
        return time.monotonic() + TICK_S

    def _tell(self, tell: Callable[[FleetListener], None]) -> None:
        for listener in self._listeners:
            try:
                tell(listener)
            except Exception:
                log.exception("listener failed listener=%s", type(listener).__name__)


def _listener_of(hear: Hearer) -> str:
    return type(getattr(hear, "__self__", hear)).__name__
