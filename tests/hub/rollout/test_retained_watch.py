"""How often the watch looks and repairs: played out second by second, over a broker that is a dictionary."""

import logging
from collections.abc import Iterable

import pytest

from hub.link.retained import Found
from hub.rollout.retained_watch import Key, RetainedWatch, WatchTiming
from schemas import Leaf, node_topic

TIMING = WatchTiming()
RIGHT = b"the document"


class World:
    """The broker, the hub's documents, and a watch over both."""

    def __init__(self, nodes: int) -> None:
        self.keys: list[Key] = [("arcade", f"n-{number}") for number in range(nodes)]
        self.topics = {node_topic(*key, Leaf.DESIRED): key for key in self.keys}
        self.broker: dict[Key, bytes] = dict.fromkeys(self.keys, RIGHT)
        self.under_way = False
        self.looked: list[tuple[float, Key]] = []
        self.repairs: list[tuple[float, Key]] = []
        self.now_s = 1_000.0
        self.watch = RetainedWatch(self, self, lambda work: work())

    def nodes_at_rest(self) -> Iterable[Key]:
        return [] if self.under_way else self.keys

    def kept_document(self, venue: str, node: str) -> bytes | None:
        return None if self.under_way or (venue, node) not in self.keys else RIGHT

    def owe(self, venue: str, nodes: Iterable[str]) -> None:
        for node in nodes:
            self.repairs.append((self.now_s, (venue, node)))
            self.broker[venue, node] = RIGHT

    def look(self, topics: Iterable[str], found: Found) -> None:
        for topic in topics:
            self.looked.append((self.now_s, self.topics[topic]))
            found(topic, self.broker.get(self.topics[topic]))

    def expire(self) -> None:
        pass

    def run(self, seconds: float, *, rival: Key | None = None) -> None:
        """Ten ticks a second; before each a rival writes its own over a node's document."""
        for _ in range(round(seconds * 10)):
            self.now_s += 0.1
            if rival is not None:
                self.broker[rival] = b"the rival's"
            self.watch.tick(self.now_s)


def test_small_venue_is_looked_at_once_in_a_round_and_a_large_one_no_faster_than_may_be() -> None:
    small, large = World(18), World(10_000)
    for world in (small, large):
        world.run(100)
    assert len(small.looked) == pytest.approx(18 * 100 / TIMING.round_s, abs=18)
    assert len(large.looked) == pytest.approx(TIMING.a_second * 100, rel=0.05)
    assert len({key for _, key in large.looked}) == len(large.looked), "each once before any twice"


def test_document_is_repaired_when_two_looks_found_another() -> None:
    world = World(3)
    world.run(1)
    del world.broker[world.keys[1]]
    world.run(TIMING.round_s + TIMING.second_look_s + 1)
    assert [key for _, key in world.repairs] == [world.keys[1]]
    assert world.broker[world.keys[1]] == RIGHT
    world.run(60)
    assert len(world.repairs) == 1


def test_document_that_was_only_on_its_way_is_not_repaired() -> None:
    world = World(3)
    world.broker[world.keys[0]] = b"the one before"
    world.run(1)
    world.broker[world.keys[0]] = RIGHT
    world.run(60)
    assert world.repairs == []


def test_nothing_is_looked_at_or_repaired_while_something_is_rolled_out() -> None:
    world = World(3)
    del world.broker[world.keys[0]]
    world.run(1)
    world.under_way = True
    world.run(60)
    assert world.repairs == []
    world.under_way = False
    world.run(TIMING.round_s + TIMING.second_look_s + 1)
    assert len(world.repairs) == 1


def test_rival_that_writes_all_the_time_makes_no_storm_and_is_told_of(caplog: pytest.LogCaptureFixture) -> None:
    world = World(3)
    with caplog.at_level(logging.WARNING):
        world.run(3_600, rival=world.keys[0])
    assert 5 < len(world.repairs) < 20
    gaps = [later - earlier for (earlier, _), (later, _) in zip(world.repairs, world.repairs[1:], strict=False)]
    assert gaps[-1] >= TIMING.longest_rest_s
    assert "another hub" not in caplog.records[0].getMessage()
    assert "another hub" in caplog.records[-1].getMessage()
    assert len(caplog.records) == len(world.repairs)


def test_broker_that_lost_everything_is_refilled_at_the_rate_of_looking_and_told_of_in_few_lines(
    caplog: pytest.LogCaptureFixture,
) -> None:
    world = World(1_000)
    world.run(1)
    world.broker.clear()
    world.watch.link_changed(False, world.now_s)
    world.watch.link_changed(True, world.now_s)
    with caplog.at_level(logging.WARNING):
        world.run(2 * 1_000 / TIMING.a_second + TIMING.round_s + 5)
    assert world.broker.keys() == set(world.keys)
    assert len(world.repairs) == 1_000
    assert len(caplog.records) < 60
