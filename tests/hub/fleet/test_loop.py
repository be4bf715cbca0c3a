"""The fleet loop: one owner of all live state, reached by `call`, that no listener and no flood can stop."""

import logging
import threading
from collections.abc import Iterator

import pytest

from hub.errors import NotFoundError, UnavailableError
from hub.fleet.inbox import Inbox, Message
from hub.fleet.loop import FleetLoop
from hub.fleet.state import MAX_STRANGERS, NodeState, Stranger
from schemas import Leaf, node_topic
from tests.conftest import NODES, VENUE
from tests.hub.fleet.test_awareness import BOOT, presence
from tests.hub.played_node import telemetry
from tests.processes import wait_until


class Recorder:
    """Keeps what it is told, and on which thread."""

    def __init__(self) -> None:
        self.changes: list[tuple[str, Leaf]] = []
        self.links: list[bool] = []
        self.ticks: list[float] = []
        self.threads: set[str] = set()

    def node_changed(self, node: NodeState, leaf: Leaf, _now_s: float) -> None:
        self.threads.add(threading.current_thread().name)
        self.changes.append((node.node, leaf))

    def link_changed(self, connected: bool, _now_s: float) -> None:
        self.links.append(connected)

    def tick(self, now_s: float) -> None:
        self.ticks.append(now_s)


class Faulty(Recorder):
    """Raises whatever it is told."""

    def node_changed(self, _node: NodeState, _leaf: Leaf, _now_s: float) -> None:
        raise RuntimeError("faulty on purpose")

    def tick(self, _now_s: float) -> None:
        raise RuntimeError("faulty on purpose")


def birth_of(node: str, session: int = 1) -> Message:
    payload = presence("online", session).model_dump_json().encode()
    return Message(node_topic(VENUE, node, Leaf.PRESENCE), payload, False, 100.0)


@pytest.fixture
def loop() -> Iterator[FleetLoop]:
    loop = FleetLoop()
    loop.set_roster(VENUE, NODES)
    yield loop
    loop.stop()


def test_listeners_are_told_on_the_loops_thread(loop: FleetLoop) -> None:
    recorder = Recorder()
    loop.add_listener(recorder)
    loop.start()
    loop.inbox.put(birth_of(NODES[0]))
    loop.link_changed(True)
    wait_until(lambda: recorder.changes and recorder.links and recorder.ticks, 5)
    assert recorder.changes == [(NODES[0], Leaf.PRESENCE)]
    assert recorder.threads == {"fleet-loop"}


def test_listener_hears_only_the_leaves_that_it_was_added_for_and_every_tick(loop: FleetLoop) -> None:
    recorder, deaf = Recorder(), Recorder()
    loop.add_listener(deaf, (Leaf.TELEMETRY,))
    loop.add_listener(recorder)
    loop.start()
    loop.inbox.put(birth_of(NODES[0]))
    wait_until(lambda: recorder.changes and deaf.ticks, 5)
    assert deaf.changes == []


def test_listener_that_raises_is_logged_and_the_others_are_told(
    loop: FleetLoop, caplog: pytest.LogCaptureFixture
) -> None:
    recorder = Recorder()
    loop.add_listener(Faulty())
    loop.add_listener(recorder)
    with caplog.at_level(logging.ERROR):
        loop.start()
        loop.inbox.put(birth_of(NODES[0]))
        wait_until(lambda: recorder.changes and len(recorder.ticks) > 2, 5)
    assert "listener failed listener=Faulty node=arcade/bay-01" in caplog.text


def test_call_gives_the_result_and_raises_what_the_work_raises(loop: FleetLoop) -> None:
    loop.start()
    assert loop.call(lambda now_s: now_s > 0) is True

    def fails(_now_s: float) -> None:
        raise NotFoundError("node", "bay-99")

    with pytest.raises(NotFoundError):
        loop.call(fails)
    assert loop.call(lambda _: loop.call(lambda _: "from its own thread")) == "from its own thread"


def test_call_sees_what_was_said_before_it(loop: FleetLoop) -> None:
    loop.start()
    for session in range(200):
        loop.inbox.put(birth_of(NODES[0], session))
        assert loop.call(lambda _: loop.state.nodes[VENUE, NODES[0]].session) == session


def test_call_after_stop_is_refused_and_does_not_hang(loop: FleetLoop) -> None:
    loop.start()
    loop.stop()
    with pytest.raises(UnavailableError):
        loop.call(lambda _: None)


def test_roster_keeps_the_state_of_nodes_that_stay(loop: FleetLoop) -> None:
    loop.start()
    loop.inbox.put(birth_of(NODES[0]))
    wait_until(lambda: loop.call(lambda _: loop.state.nodes[VENUE, NODES[0]].online), 5)
    loop.set_roster(VENUE, [NODES[0], "bay-03"])
    assert loop.call(lambda _: sorted(loop.state.nodes)) == [(VENUE, NODES[0]), (VENUE, "bay-03")]
    assert loop.call(lambda _: loop.state.nodes[VENUE, NODES[0]].online)


def test_flood_keeps_the_newest_of_each_topic_in_bounded_memory() -> None:
    inbox = Inbox(max_messages=10, max_bytes=10_000)
    for number in range(1_000):
        for node in NODES:
            inbox.put(Message(f"topic/{node}", str(number).encode(), False, 0.0))
    messages, _ = inbox.take(0)
    assert len(messages) == 10 + len(NODES)
    assert [message.payload for message in messages[-2:]] == [b"999", b"999"]
    assert inbox.dropped == 2_000 - len(messages)
    inbox.put(Message("topic", b"again", False, 0.0))
    assert [message.payload for message in inbox.take(0)[0]] == [b"again"]


def test_flood_of_large_messages_is_bounded_by_bytes() -> None:
    inbox = Inbox(max_messages=1_000_000, max_bytes=100_000)
    for number in range(1_000):
        inbox.put(Message(f"topic/{number}", bytes(10_000), False, 0.0))
    held = sum(len(message.payload) for message in inbox.take(0)[0])
    assert held <= 210_000


def test_message_after_dropped_ones_says_how_many() -> None:
    inbox = Inbox(max_messages=1)
    inbox.put(Message("a", b"0", False, 0.0))
    inbox.put_all(
        Message("a", str(number).encode(), False, 0.0, skipped) for number, skipped in ((1, 0), (2, 7), (3, 5))
    )
    first, newest = inbox.take(0)[0]
    assert (first.payload, first.skipped) == (b"0", 0)
    assert (newest.payload, newest.skipped) == (b"3", 14)


def test_newest_that_finds_no_room_leaves_what_was_there() -> None:
    inbox = Inbox(max_messages=0, max_bytes=100)
    inbox.put(Message("a", bytes(150), False, 0.0))
    inbox.put(Message("a", bytes(300), False, 0.0))
    assert [len(message.payload) for message in inbox.take(0)[0]] == [150]
    assert inbox.dropped == 1


def test_node_that_speaks_again_is_told_as_presence_first(loop: FleetLoop) -> None:
    recorder = Recorder()
    loop.add_listener(recorder)
    loop.start()
    loop.inbox.put(birth_of(NODES[0]))
    wait_until(lambda: len(recorder.changes) == 1, 5)

    def presume_dead(_now_s: float) -> None:
        loop.state.nodes[VENUE, NODES[0]].online = False

    loop.call(presume_dead)
    words = telemetry(boot_id=BOOT, session=1)
    for sequence in (0, 1):
        payload = words.model_copy(update={"sequence": sequence}).model_dump_json().encode()
        loop.inbox.put(Message(node_topic(VENUE, NODES[0], Leaf.TELEMETRY), payload, False, 101.0))
    wait_until(lambda: len(recorder.changes) == 4, 5)
    assert [leaf for _, leaf in recorder.changes[1:]] == [Leaf.PRESENCE, Leaf.TELEMETRY, Leaf.TELEMETRY]


def test_telemetry_after_the_hubs_own_absence_has_no_gap_before_it(loop: FleetLoop) -> None:
    loop.start()
    loop.inbox.put(birth_of(NODES[0]))
    node = loop.state.nodes[VENUE, NODES[0]]
    for sequence, expected in ((3, 4), (90, 91)):
        payload = telemetry(boot_id=BOOT, session=1, sequence=sequence).model_dump_json().encode()
        loop.inbox.put(Message(node_topic(VENUE, NODES[0], Leaf.TELEMETRY), payload, False, 101.0))
        wait_until(lambda expected=expected: node.next_sequence == expected, 5)  # type: ignore[misc]
        loop.link_changed(False)
        wait_until(lambda: node.next_sequence is None, 5)
    assert node.sequence_gaps == 0


def test_strangers_are_heard_by_live_telemetry_and_are_bounded(loop: FleetLoop) -> None:
    loop.start()
    for number in range(MAX_STRANGERS + 1):
        loop.inbox.put(Message(node_topic(VENUE, f"ghost-{number}", Leaf.TELEMETRY), b"", False, 100.0 + number))
    loop.inbox.put(Message(node_topic(VENUE, "ghost-1", Leaf.TELEMETRY), b"", False, 5_000.0))
    loop.inbox.put(Message(node_topic(VENUE, "kept", Leaf.TELEMETRY), b"", True, 5_000.0))
    loop.inbox.put(Message(node_topic(VENUE, "left", Leaf.PRESENCE), b"", False, 5_000.0))
    strangers = loop.call(lambda _: dict(loop.state.strangers))
    assert len(strangers) == MAX_STRANGERS
    assert not {(VENUE, "ghost-0"), (VENUE, "kept"), (VENUE, "left")} & strangers.keys()
    assert strangers[VENUE, "ghost-1"] == Stranger(101.0, 5_000.0, 2)
    loop.set_roster(VENUE, [*NODES, "ghost-1"])
    assert (VENUE, "ghost-1") not in loop.call(lambda _: dict(loop.state.strangers))
