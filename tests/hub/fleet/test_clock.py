"""How often the hub exchanges stamps with a node: a burst, then ever more seldom, and bounded for a large fleet."""

import itertools
import json
from collections import Counter

import pytest

from hub.fleet.clock import (
    ASKS_PER_TICK,
    BURST,
    BURST_STEP_S,
    LONGEST_WAIT_S,
    STEP_S,
    UNSETTLED_MS,
    UNSETTLED_WAIT_S,
    ClockExchanges,
    next_wait_s,
)
from hub.fleet.loop import FleetLoop
from schemas import Answer, ClockAnswer, Leaf, parse_node_topic
from tests.hub.played_node import telemetry

TICK_S = 0.1
BOOT = "0123456789abcdef"


class Fleet:
    """The hub's clocks turned by hand, and nodes that answer each question at once, `delay_s` on the way."""

    def __init__(self, nodes: int = 1, *, delay_s: float = 0.01, dispersion_ms: float = 6.0) -> None:
        self.now_s = self.monotonic_s = 1_000_000.0
        self.asked_at: list[float] = []
        self.asked = Counter[str]()
        self._delay_s = delay_s
        self._answers: list[tuple[str, str, float]] = []
        self.loop = FleetLoop()
        self.loop.attach(self)
        names = [f"node-{number}" for number in range(nodes)]
        self.loop.state.set_roster("arcade", names)
        self.clocks = ClockExchanges(self.loop, lambda: self.now_s, lambda: self.monotonic_s)
        self.clocks.link_changed(True, self.now_s)
        for node in self.loop.state.of_venue("arcade"):
            node.online, node.boot_id, node.session = True, BOOT, 1
            node.telemetry = telemetry(clock_dispersion_ms=dispersion_ms)
            self.clocks.node_changed(node, Leaf.PRESENCE, self.now_s)

    def watch(self, _venues: object) -> None:
        raise NotImplementedError

    def publish(self, topic: str, payload: bytes, *, retain: bool) -> None:
        assert not retain
        parsed, ask = parse_node_topic(topic), json.loads(payload)
        assert parsed is not None
        self.asked_at.append(self.now_s)
        self.asked[parsed.node] += 1
        self._answers.append((parsed.node, ask["correlation"], ask["question"]["t1_ms"]))

    def run(self, seconds: float) -> None:
        for _ in range(round(seconds / TICK_S)):
            self.clocks.tick(self.now_s)
            answers, self._answers = self._answers, []
            for name, correlation, t1_ms in answers:
                node = self.loop.state.nodes["arcade", name]
                stamps = ClockAnswer(kind="clock", t1_ms=t1_ms, t2_ms=5.0, t3_ms=5.0)
                node.answer = Answer(correlation=correlation, answer=stamps)
                self.clocks.node_changed(node, Leaf.ANSWER, self.now_s + self._delay_s)
            self.now_s += TICK_S
            self.monotonic_s += TICK_S


def gaps_of(fleet: Fleet) -> list[float]:
    """Between exchanges; questions that only carry stamps back follow on the heels of those before."""
    return [gap for gap in (b - a for a, b in itertools.pairwise(fleet.asked_at)) if gap > TICK_S / 2]


def test_burst_then_exchanges_ever_further_apart_up_to_minutes() -> None:
    fleet = Fleet()
    fleet.run(3_600)
    gaps = gaps_of(fleet)
    assert gaps[: BURST - 1] == pytest.approx([BURST_STEP_S] * (BURST - 1), abs=1.1 * TICK_S)
    assert sum(gaps[: BURST + 20]) < 90, "the crystal's drift is learnt in the first minute and a half"
    assert max(gaps) <= LONGEST_WAIT_S * 1.1 + TICK_S
    assert min(gaps[-10:]) >= LONGEST_WAIT_S * 0.9 - TICK_S


def test_node_that_more_exchanges_would_help_gets_them() -> None:
    fleet = Fleet(dispersion_ms=5.0 + UNSETTLED_MS + 1.0)
    fleet.run(3_600)
    assert max(gaps_of(fleet)[-20:]) <= UNSETTLED_WAIT_S * 1.1 * 1.1 + TICK_S


def test_half_the_least_delay_is_no_reason_for_more_exchanges() -> None:
    assert next_wait_s(100.0, 200.0, 105.0) > 100.0
    assert next_wait_s(100.0, 200.0, 100.0 + UNSETTLED_MS + 0.1) == 50.0
    assert next_wait_s(100.0, 200.0, None) > 100.0


@pytest.mark.parametrize("step_s", [-3_600.0, -0.05, 0.05, 3_600.0])
def test_hub_whose_clock_was_stepped_begins_anew_with_every_node(step_s: float) -> None:
    fleet = Fleet(nodes=3)
    fleet.run(600)
    before = Counter(fleet.asked)
    fleet.now_s += step_s
    fleet.run(BURST * BURST_STEP_S + 0.5)
    assert all(fleet.asked[name] - before[name] >= BURST for name in fleet.asked)


def test_slewing_of_the_hubs_clock_is_no_step() -> None:
    fleet = Fleet()
    fleet.run(600)
    before = fleet.asked.total()
    for _ in range(50):
        fleet.now_s += STEP_S / 20  # 5,000 ppm, ten times what synchronisation may do
        fleet.run(TICK_S)
    assert fleet.asked.total() - before <= 2


def test_thousands_of_nodes_are_asked_no_faster_than_the_bound_and_all_of_them() -> None:
    fleet = Fleet(nodes=3_000)
    fleet.run(6)
    assert fleet.asked.total() <= 2 * (6 / TICK_S + 1) * ASKS_PER_TICK
    assert len(fleet.asked) == 3_000, "nobody waits for another's burst to end"
