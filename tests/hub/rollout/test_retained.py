"""What the broker keeps for a node is put right when somebody clears or overwrites it, the node on or off."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from hub.link.retained import Found, RetainedLooks
from hub.rollout.retained_watch import WatchTiming
from schemas import Leaf, node_topic
from schemas.bounds import MAX_DESIRED_BYTES
from tests.brokers import Broker, node_credential
from tests.conftest import NODES, VENUE
from tests.hub.conftest import address_of
from tests.hub.rollout.live_board import LiveBoard
from tests.hub.rollout.test_on_brokers import Hub, running_hub
from tests.mqtt_peer import Peer
from tests.processes import wait_until

QUICK = WatchTiming(a_second=100.0, round_s=0.3, second_look_s=0.1, first_rest_s=0.1)
ON, OFF = NODES
TOPICS = {node: node_topic(VENUE, node, Leaf.DESIRED) for node in NODES}


class CountedLooks(RetainedLooks):
    """Counts what was found."""

    found = 0

    def look(self, topics: Iterable[str], found: Found) -> None:
        def counted(topic: str, payload: bytes | None) -> None:
            self.found += 1
            found(topic, payload)

        super().look(topics, counted)


@contextmanager
def watching(broker: Broker, database: Path) -> Iterator[tuple[Hub, CountedLooks]]:
    """A hub's rollouts with the watch, at rest; the first board is on, the other never was."""
    looks = CountedLooks(address_of(broker), look_s=0.3)
    with (
        LiveBoard(node_credential(broker, VENUE, ON)),
        running_hub(broker, database, lambda rollouts: rollouts.watch_retained(looks, QUICK)) as hub,
    ):
        looks.start()
        try:
            hub.opened()
            wait_until(lambda: hub.rollouts.idle(VENUE), 5, "nothing to differ")
            yield hub, looks
        finally:
            looks.stop()


def test_document_that_was_cleared_or_overwritten_is_put_right(each_broker: Broker, tmp_path: Path) -> None:
    with watching(each_broker, tmp_path / "hub.sqlite3") as (hub, _), Peer(each_broker) as stranger:
        stranger.subscribe(TOPICS[ON], TOPICS[OFF])
        right = {node: wait_until(lambda node=node: stranger.last(TOPICS[node]), 5) for node in NODES}  # type: ignore[misc]
        for node, written in ((OFF, b""), (OFF, b"{}"), (OFF, right[ON]), (ON, b"")):
            stranger.publish(TOPICS[node], written, retain=True)
            wait_until(
                lambda node=node, written=written: stranger.heard(TOPICS[node])[-2:] == [written, right[node]],  # type: ignore[misc]
                15,
                f"{node}'s document again after {written[:10]!r}",
            )
        assert not hub.loop.state.nodes[VENUE, OFF].online
        with Peer(each_broker) as comes_back:
            comes_back.subscribe(TOPICS[OFF])
            wait_until(lambda: comes_back.last(TOPICS[OFF]) == right[OFF], 5, "what a board would be handed")


def test_what_is_right_is_left_alone(each_broker: Broker, tmp_path: Path) -> None:
    with watching(each_broker, tmp_path / "hub.sqlite3") as (_, looks), Peer(each_broker) as listener:
        listener.subscribe(TOPICS[ON], TOPICS[OFF])
        wait_until(lambda: len(listener.messages) == 2, 5, "what is kept")
        before = looks.found
        wait_until(lambda: looks.found >= before + 6, 15, "three rounds")
        assert len(listener.messages) == 2


def test_largest_document_is_read_whole(each_broker: Broker) -> None:
    largest, read = b"x" * MAX_DESIRED_BYTES, dict[str, bytes | None]()
    looks = RetainedLooks(address_of(each_broker))
    looks.start()
    try:
        with Peer(each_broker) as hub:
            hub.subscribe(TOPICS[OFF])
            hub.publish(TOPICS[OFF], largest, retain=True)
            wait_until(lambda: hub.last(TOPICS[OFF]), 10, "the broker to have it")

        def looked() -> bool:
            looks.look([TOPICS[OFF]], read.__setitem__)  # does nothing until it is connected
            return TOPICS[OFF] in read

        wait_until(looked, 10, "the look")
        assert read[TOPICS[OFF]] == largest
    finally:
        looks.stop()


def test_broker_that_lost_everything_is_given_everything(broker: Broker, tmp_path: Path) -> None:
    with watching(broker, tmp_path / "hub.sqlite3"):
        broker.kill()
        broker.start()
        with Peer(broker) as listener:
            listener.subscribe(TOPICS[OFF])
            wait_until(lambda: listener.last(TOPICS[OFF]), 20, "the document of the board that is off")
