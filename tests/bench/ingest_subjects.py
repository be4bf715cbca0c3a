"""What `tests.bench.ingest` measures, each in a process of its own: a bare subscriber, and the hub as `up` runs it."""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from types import TracebackType
from typing import Any
from urllib.parse import quote

from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion

from hub.fleet.loop import FleetLoop
from hub.running import RunningHub
from hub.settings import Settings
from schemas import Leaf, venue_subscription
from tests.bench.ingest_flood import VENUE, Place, venue_of
from tests.brokers import HUB_USER
from tests.processes import wait_until

DEADLINE_S = 180.0
QUIET_SHARE = 0.25
INTERVAL_S = 60.0  # nobody is silent before the flood


@dataclass(frozen=True, slots=True)
class Through:
    """Messages that came through, and seconds of wall clock and of the process's processor time for them."""

    messages: int
    wall_s: float
    processor_s: float


@dataclass(frozen=True, slots=True)
class Standing:
    """What a hub holds: messages seen in any way since it began, dropped, waiting in the inbox, resident MiB."""

    seen: int
    dropped: int
    waiting: int
    resident_mib: float


class Subject:
    """A subject's process, which answers one question at a time."""

    def __init__(self, run: Callable[..., None], *arguments: object) -> None:
        context = get_context("spawn")
        self._ours, theirs = context.Pipe()
        self._process = context.Process(target=run, args=(*arguments, theirs))
        self._process.start()
        theirs.close()  # a subject that fails is then the end of the file, not an endless wait

    def tell(self, question: object) -> None:
        self._ours.send(question)

    def answer(self) -> Any:  # noqa: ANN401 (as the question is)
        """What it says next."""
        if not self._ours.poll(DEADLINE_S):
            raise TimeoutError(f"a subject did not answer in {DEADLINE_S} s")
        return self._ours.recv()

    def ask(self, *question: object) -> Any:  # noqa: ANN401 (as the question is)
        self.tell(question)
        return self.answer()

    def __enter__(self) -> "Subject":
        return self

    def __exit__(self, kind: type[BaseException] | None, _e: BaseException | None, _t: TracebackType | None) -> None:
        self._ours.close()  # the end of the questions
        self._process.join(1 if kind else 30)
        if self._process.is_alive():
            self._process.kill()
            self._process.join()


def run_bare(place: Place, messages: int, parent: Connection) -> None:
    """A subscriber that counts."""
    heard = 0
    done, ready = threading.Event(), threading.Event()

    def count(_client: Client, _userdata: object, _message: MQTTMessage) -> None:
        nonlocal heard
        heard += 1
        if heard >= messages:
            done.set()

    client = Client(CallbackAPIVersion.VERSION2)
    client.username_pw_set(HUB_USER, place.secret)
    client.on_message = count
    client.on_subscribe = lambda *_: ready.set()
    client.connect(place.host, place.port)
    client.loop_start()
    client.subscribe(venue_subscription(VENUE, Leaf.TELEMETRY), 0)
    assert ready.wait(10)
    parent.send("ready")
    parent.recv()
    began_s, processor_s = time.perf_counter(), time.process_time()
    done.wait(DEADLINE_S)
    parent.send(Through(heard, time.perf_counter() - began_s, time.process_time() - processor_s))
    client.disconnect()
    client.loop_stop()


def run_hub(place: Place, folder: Path, parent: Connection) -> None:
    """Ready once every node is online, shows what it should, and the hub has nothing to do."""
    url = f"mqtt://{HUB_USER}:{quote(place.secret, safe='')}@{place.host}:{place.port}"
    running = RunningHub(Settings(data_dir=folder, port=0, broker_url=url, telemetry_interval_s=INTERVAL_S))
    running.start()
    try:
        hub = running.hub
        if VENUE not in hub.inventory.venue_ids():
            hub.inventory.load(venue_of())
        asked = AskedHub(running)
        wait_until(asked.fleet_is_settled, DEADLINE_S, "every node to show what it should")
        asked.wait_for_quiet()
        parent.send("ready")
        while True:
            try:
                question, *arguments = parent.recv()
            except EOFError:
                return
            parent.send(getattr(asked, question)(*arguments))
    finally:
        running.stop()


class AskedHub:
    """The questions that the benchmark asks of a running hub."""

    def __init__(self, running: RunningHub) -> None:
        self._hub = running.hub
        self._loop: FleetLoop = running.hub.node_views._loop

    def fleet_is_settled(self) -> bool:
        def settled(_now_s: float) -> bool:
            states = self._loop.state.of_venue(VENUE)
            return bool(states) and all(
                state.online
                and state.reported is not None
                and state.reported.showing is not None
                and state.reported.showing.revision == self._hub.rollouts.desired_revision(VENUE, state.node)
                for state in states
            )

        return self._loop.call(settled) and self._hub.rollouts.idle(VENUE)

    def wait_for_quiet(self) -> None:
        """Until what follows births and rollouts, such as clock exchanges and flash checks, is over."""

        def quiet() -> bool:
            before_s = time.process_time()
            time.sleep(1.0)  # the spell that is judged
            return time.process_time() - before_s < QUIET_SHARE

        wait_until(quiet, DEADLINE_S, "the hub to be quiet")

    def standing(self) -> Standing:
        history, inbox = self._hub.history, self._loop.inbox
        seen = history.stored + history.dropped + history.waiting + inbox.dropped + self._loop.state.rejected.total()
        return Standing(seen, inbox.dropped, len(inbox._messages) + len(inbox._overflow), _resident_mib())

    def through(self, messages: int) -> Through:
        """How long until so many more messages are in the database; those dropped do not count."""
        began_s, processor_s, before = time.perf_counter(), time.process_time(), self.standing()
        stored = self._hub.history.stored
        wait_until(lambda: self.standing().seen >= before.seen + messages, DEADLINE_S, "the messages to be seen")
        self._hub.history.stop()
        return Through(
            self._hub.history.stored - stored, time.perf_counter() - began_s, time.process_time() - processor_s
        )

    def newest(self) -> dict[str, float]:
        """Uptime that each node told last."""
        return self._loop.call(
            lambda _: {
                state.node: state.telemetry.uptime_s for state in self._loop.state.of_venue(VENUE) if state.telemetry
            }
        )


def _resident_mib() -> float:
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024
    raise RuntimeError("the system does not tell how much memory is resident")
