"""An hour of a healthy fleet, and the moments that only look like silence: no finding opens."""

import random
from collections import Counter

import pytest

from hub.fleet.lifeline import RECONNECT_GRACE_S, presumed_dead, time_leapt
from hub.fleet.state import FleetState, NodeState
from hub.health.rule import Subject
from hub.health.rules.book import RULES
from hub.health.track import REST, Track, Turn, step
from hub.health.watch import Watch
from schemas import Held, Leaf, Reported
from tests.hub.fleet.test_awareness import BOOT, presence
from tests.hub.played_node import telemetry

INTERVAL_S = 5.0
HASH = "0" * 64


def healthy_node(number: int, now_s: float) -> NodeState:
    return NodeState(
        "arcade",
        f"node-{number}",
        online=True,
        presence=presence("online", 1),
        boot_id=BOOT,
        session=1,
        heard_at_s=now_s,
        telemetry=telemetry(),
        telemetry_at_s=now_s,
        reported=Reported(boot_id=BOOT, session=1, showing=Held(revision=1, sha256=HASH)),
    )


@pytest.mark.parametrize("seed", range(3))
def test_hour_of_healthy_nodes_opens_no_finding(seed: int) -> None:
    """Telemetry spread by a fifth, one in fifty lost but no two in a row, slow moments, a brief reconnect each."""
    chance = random.Random(seed)
    start_s, look_s = 10_000.0, 1.0
    nodes = [healthy_node(number, start_s) for number in range(60)]
    link_up_at_s = start_s - 60
    watch = Watch(INTERVAL_S, lambda _venue, _node: 1)
    watch.link_changed(True, link_up_at_s)
    next_word = [start_s + chance.uniform(0, INTERVAL_S) for _ in nodes]
    offline_from = [start_s + chance.uniform(60, 3_500) for _ in nodes]
    fleet = FleetState({node.key: node for node in nodes})
    tracks: dict[Subject, Track] = {}
    opened: Counter[Subject] = Counter()
    now_s = start_s
    while now_s < start_s + 3_600:
        now_s += look_s
        for number, node in enumerate(nodes):
            online, node.online = node.online, not offline_from[number] <= now_s < offline_from[number] + 0.9
            if node.online != online:
                watch.node_changed(node, Leaf.PRESENCE, now_s)
            if now_s >= next_word[number] and node.online:
                next_word[number] += INTERVAL_S * chance.uniform(0.8, 1.2)
                lost_before = now_s - (node.heard_at_s or 0.0) > 1.4 * INTERVAL_S
                if lost_before or chance.random() > 0.02:
                    node.heard_at_s = node.telemetry_at_s = now_s
                    rate_hz = 57.0 if chance.random() < 0.02 else chance.uniform(59.5, 60.5)
                    node.telemetry = telemetry(frame_rate_hz=rate_hz, late_frames=0)
                    watch.node_changed(node, Leaf.TELEMETRY, now_s)
            assert not presumed_dead(node, now_s, link_up_at_s=link_up_at_s, telemetry_interval_s=INTERVAL_S)
        for subject, outcome in watch.judge(fleet, now_s, tuple(tracks), lambda _subject: False):
            tracks[subject], turn = step(tracks.get(subject, REST), outcome, now_s, RULES[subject.kind].hysteresis)
            if tracks[subject] == REST:
                del tracks[subject]
            if turn is Turn.OPENS:
                opened[subject] += 1
    assert opened == Counter()


@pytest.mark.parametrize(
    ("before_s", "now_s", "leapt"), [(None, 5.0, False), (5.0, 5.1, False), (5.0, 8.1, True), (5.0, 4.9, True)]
)
def test_leap_of_time_is_seen(before_s: float | None, now_s: float, leapt: bool) -> None:
    assert time_leapt(before_s, now_s) is leapt


def test_clock_that_is_set_makes_nobody_dead() -> None:
    """The hub's clock is set forward by an hour: every node was last heard an hour ago, and none is presumed dead."""
    node = healthy_node(1, 10_000.0)
    now_s = 13_600.0
    assert presumed_dead(node, now_s, link_up_at_s=9_000.0, telemetry_interval_s=INTERVAL_S)
    assert not presumed_dead(node, now_s, link_up_at_s=now_s, telemetry_interval_s=INTERVAL_S)
    still_s = now_s + max(RECONNECT_GRACE_S, 3 * INTERVAL_S) + 0.1
    assert presumed_dead(node, still_s, link_up_at_s=now_s, telemetry_interval_s=INTERVAL_S)
