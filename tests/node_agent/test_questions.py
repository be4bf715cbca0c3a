"""Questions to a real agent: clock, rebirth, and what a person at the board wants to see."""

import time

import numpy as np
import pytest

from schemas import (
    AskClock,
    AskIdentify,
    AskRebirth,
    AskTelemetry,
    AskTestPattern,
    AskWalk,
    ClockAnswer,
    ClockExchange,
    Declined,
    Done,
    Leaf,
)
from tests.node_agent.documents import PIXELS, desired
from tests.node_agent.running_agent import BLUE, GREEN, RED, HubSide, RunningAgent, first_pixel, lit, topic
from tests.processes import wait_until


def test_clock_exchange_is_answered_with_the_nodes_stamps_and_learnt_from_when_completed(hub: HubSide) -> None:
    ahead_ms = 3_600_000.0
    t1 = time.time() * 1_000 + ahead_ms
    hub.ask(AskClock(kind="clock", t1_ms=t1), "a" * 16)
    answer = wait_until(hub.answers, 5)[0]
    t4 = time.time() * 1_000 + ahead_ms
    stamps = answer.answer
    assert isinstance(stamps, ClockAnswer)
    assert (answer.correlation, stamps.t1_ms) == ("a" * 16, t1)
    assert stamps.t2_ms <= stamps.t3_ms
    assert hub.telemetry()[-1].clock_offset_ms is None
    completed = ClockExchange(t1_ms=t1, t2_ms=stamps.t2_ms, t3_ms=stamps.t3_ms, t4_ms=t4)
    hub.ask(AskClock(kind="clock", t1_ms=t4, completed=completed), "b" * 16)
    hub.ask(AskRebirth(kind="rebirth"), "c" * 16, expires_in_s=3_700)
    told = wait_until(lambda: next((t for t in hub.telemetry() if t.clock_offset_ms is not None), None), 5)
    assert told.clock_offset_ms == pytest.approx(ahead_ms, abs=50)
    assert told.clock_dispersion_ms is not None
    assert told.clock_dispersion_ms <= (t4 - t1) / 2 + 1


def test_rebirth_publishes_everything_again(hub: HubSide) -> None:
    counts = {leaf: len(hub.peer.heard(topic(leaf))) for leaf in (Leaf.PRESENCE, Leaf.REPORTED)}
    hub.ask(AskRebirth(kind="rebirth"))
    for leaf, count in counts.items():
        wait_until(lambda leaf=leaf, count=count: len(hub.peer.heard(topic(leaf))) > count, 5, leaf)  # type: ignore[misc]
    assert any(isinstance(answer.answer, Done) for answer in hub.answers())


def test_question_that_came_too_late_is_dropped(hub: HubSide) -> None:
    hub.bring_to_show(desired(1))
    hub.ask(AskIdentify(kind="identify"), "d" * 16, expires_in_s=-1)
    hub.ask(AskRebirth(kind="rebirth"), "e" * 16)
    wait_until(hub.answers, 5)
    assert [answer.correlation for answer in hub.answers()] == ["e" * 16]


def test_walk_and_test_pattern_show_on_their_channel_and_end_by_themselves(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1))
    hub.ask(AskWalk(kind="walk", channel=1, pixels_per_s=20, seconds=1), "1" * 16)
    wait_until(lambda: lit(agent.frames()[-1]) == 1, 5, "one lit pixel")
    wait_until(lambda: lit(agent.frames()[-1]) == PIXELS, 5, "the scene to come back")
    walked = [frame.decode().codes for frame in agent.frames() if lit(frame) == 1]
    places = [int(np.flatnonzero(codes.any(axis=1))[0]) for codes in walked]
    assert places == sorted(places)
    assert 10 < len(set(places)) <= 21
    hub.ask(AskTestPattern(kind="test-pattern", channel=1, seconds=1), "2" * 16)
    wait_until(lambda: first_pixel(agent.frames()[-1])[:3] == (255, 255, 255), 5, "a white first pixel")
    codes = next(f.decode().codes for f in agent.frames() if lit(f) == PIXELS and first_pixel(f) != RED)
    assert [tuple(codes[i]) for i in (1, PIXELS // 2, PIXELS - 1)] == [RED, GREEN, BLUE]
    hub.ask(AskWalk(kind="walk", channel=3), "3" * 16)
    declined = wait_until(lambda: [a for a in hub.answers() if isinstance(a.answer, Declined)], 5)
    assert declined[0].correlation == "3" * 16


def test_telemetry_comes_faster_when_asked(hub: HubSide) -> None:
    hub.bring_to_show(desired(1))
    before = len(hub.telemetry())
    hub.ask(AskTelemetry(kind="telemetry", interval_s=0.2, seconds=60), "4" * 16)
    wait_until(lambda: len(hub.telemetry()) >= before + 6, 10, "faster telemetry")
    uptimes = [telemetry.uptime_s for telemetry in hub.telemetry()[-5:]]
    assert uptimes[4] - uptimes[0] < 4 * 0.2 * 1.5
    assert any(isinstance(answer.answer, Done) for answer in hub.answers())
