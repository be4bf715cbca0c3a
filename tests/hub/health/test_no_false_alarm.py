"""An hour of a healthy fleet, and the moments that only look like a fault: no finding opens."""

import random
from collections import Counter

import pytest

from hub.fleet.awareness import apply_presence, apply_telemetry
from hub.fleet.lifeline import RECONNECT_GRACE_S, presumed_dead, time_leapt
from hub.fleet.state import FleetState, NodeState
from hub.health.rule import Subject
from hub.health.rules.book import RULES
from hub.health.track import REST, Track, Turn, step
from hub.health.watch import Watch
from schemas import Held, Leaf, Reported, Venue
from tests.hub.fleet.test_awareness import presence
from tests.hub.health.sights import HASH, told

INTERVAL_S = 5.0
LOSS = 0.01
BOOT = "a" * 8


class HealthyNode:
    """It speaks with jitter, is slow now and then, dips in volts once, and reconnects when it is cut off."""

    def __init__(self, number: int, start_s: float, chance: random.Random) -> None:
        self.state = NodeState("arcade", f"node-{number}")
        self.state.reported = Reported(boot_id=BOOT, session=1, showing=Held(revision=1, sha256=HASH))
        self._chance = chance
        self._session = 1
        self._words = 0
        self._next_word_s = start_s + chance.uniform(0, INTERVAL_S)
        self._returns_s: float | None = None
        self._dips_s = start_s + chance.uniform(60, 3_500)
        self._born(start_s)

    def cut_off(self, until_s: float) -> None:
        """Its will is lost as other messages are."""
        if self._chance.random() > LOSS:
            apply_presence(self.state, presence("offline", self._session, BOOT), until_s, retained=False)
        self._returns_s = until_s

    def speaks(self, now_s: float) -> list[Leaf]:
        """What the hub hears of it in this second."""
        if self._returns_s is not None:
            if now_s < self._returns_s:
                return []
            self._returns_s = None
            self._session += 1
            self._born(now_s)
            return [Leaf.PRESENCE]
        if now_s < self._next_word_s:
            return []
        self._next_word_s += INTERVAL_S * self._chance.uniform(0.8, 1.2)
        self._words += 1
        if self._chance.random() < LOSS:
            return []
        dips = self._dips_s <= now_s < self._dips_s + INTERVAL_S
        message = told(
            {
                "under_voltage": dips,
                "throttled": dips,
                "signal_dbm": self._chance.gauss(-60.0, 4.0),
                "memory_free_share": self._chance.uniform(0.3, 0.5),
                "errors": 2,
            },
            boot_id=BOOT,
            session=self._session,
            sequence=self._words % 256,
            frame_rate_hz=57.0 if self._chance.random() < 0.02 else self._chance.uniform(59.5, 60.5),
            temperature_c=self._chance.gauss(60.0, 3.0),
            clock_dispersion_ms=self._chance.uniform(0.1, 4.0),
        )
        apply_telemetry(self.state, message, now_s)
        return [Leaf.TELEMETRY]

    def _born(self, now_s: float) -> None:
        apply_presence(self.state, presence("online", self._session, BOOT), now_s, retained=False)


def test_hour_of_healthy_nodes_opens_no_finding() -> None:
    """One message in a hundred is lost, each node reconnects once by itself, the broker restarts twice."""
    chance = random.Random(1)
    start_s, look_s = 10_000.0, 1.0
    nodes = [HealthyNode(number, start_s, chance) for number in range(50)]
    fleet = FleetState({node.state.key: node.state for node in nodes})
    watch = Watch(INTERVAL_S, lambda _venue, _node: 1)
    supplies = '{"id": "arcade", "title": "Arcade", "supplies": [{"id": "psu-1", "volts": 5.0, "rated_a": 200.0}]}'
    watch.venue_changed(Venue.model_validate_json(supplies))
    link_up_at_s = start_s
    watch.link_changed(True, link_up_at_s)
    cut_off_at = {start_s + chance.randrange(60, 3_500): node for node in nodes}
    restarts = {start_s + 1_200.0: 3.0, start_s + 1_500.0: 8.0}
    tracks: dict[Subject, Track] = {}
    opened: Counter[Subject] = Counter()
    now_s = start_s
    while now_s < start_s + 3_600:
        now_s += look_s
        if now_s in restarts:
            link_up_at_s = now_s + restarts[now_s]
            watch.link_changed(False, now_s)
            fleet.forget_sequences()
            for node in nodes:
                node.cut_off(link_up_at_s + chance.uniform(0, 10))
        elif now_s in cut_off_at:
            cut_off_at[now_s].cut_off(now_s + 0.9)
            watch.node_changed(cut_off_at[now_s].state, Leaf.PRESENCE, now_s)
        if now_s == link_up_at_s:
            watch.link_changed(True, now_s)
        for node in nodes:
            for leaf in node.speaks(now_s):
                watch.node_changed(node.state, leaf, now_s)
            up_s = link_up_at_s if link_up_at_s <= now_s else None
            assert not presumed_dead(node.state, now_s, link_up_at_s=up_s, telemetry_interval_s=INTERVAL_S)
        for subject, outcome in watch.judge(fleet, now_s, tuple(tracks), lambda _subject: False):
            tracks[subject], turn = step(tracks.get(subject, REST), outcome, now_s, RULES[subject.kind].hysteresis)
            if tracks[subject] == REST:
                del tracks[subject]
            if turn is Turn.OPENS:
                opened[subject] += 1
    assert opened == Counter()
    assert all(node.state.arrivals.recent(now_s).received > 60 for node in nodes), "the hour was played"


@pytest.mark.parametrize(
    ("before_s", "now_s", "leapt"), [(None, 5.0, False), (5.0, 5.1, False), (5.0, 8.1, True), (5.0, 4.9, True)]
)
def test_leap_of_time_is_seen(before_s: float | None, now_s: float, leapt: bool) -> None:
    assert time_leapt(before_s, now_s) is leapt


def test_clock_that_is_set_makes_nobody_dead() -> None:
    """The hub's clock is set forward by an hour: every node was last heard an hour ago, and none is presumed dead."""
    node = HealthyNode(1, 10_000.0, random.Random(1)).state
    now_s = 13_600.0
    assert presumed_dead(node, now_s, link_up_at_s=9_000.0, telemetry_interval_s=INTERVAL_S)
    assert not presumed_dead(node, now_s, link_up_at_s=now_s, telemetry_interval_s=INTERVAL_S)
    still_s = now_s + max(RECONNECT_GRACE_S, 3 * INTERVAL_S) + 0.1
    assert presumed_dead(node, still_s, link_up_at_s=now_s, telemetry_interval_s=INTERVAL_S)
