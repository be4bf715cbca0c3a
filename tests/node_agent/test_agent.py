"""Whole agents as processes, on a real broker: what the venue relies on."""

import itertools
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from node_agent.outputs import CapturedFrame
from schemas import (
    AskClock,
    AskIdentify,
    AskRebirth,
    AskTestPattern,
    AskWalk,
    ClockAnswer,
    ClockExchange,
    Declined,
    Done,
    Leaf,
    Presence,
    TakeTime,
    take_topic,
)
from schemas.bounds import MAX_DESIRED_BYTES, MAX_MESSAGE_BYTES
from tests.brokers import Broker
from tests.conftest import NODES, VENUE
from tests.node_agent.documents import PIXELS, body, channel, desired, zone
from tests.node_agent.running_agent import HubSide, RunningAgent, hub_side, topic
from tests.processes import wait_until

RED, GREEN, BLUE = (255, 0, 0, 0), (0, 255, 0, 0), (0, 0, 255, 0)


@pytest.fixture
def agent(broker: Broker, tmp_path: Path) -> Iterator[RunningAgent]:
    running = RunningAgent(broker, tmp_path)
    running.start()
    try:
        yield running
    finally:
        if running.process:
            running.process.stop()
    assert "Traceback" not in running.output()


@pytest.fixture
def hub(broker: Broker, agent: RunningAgent) -> Iterator[HubSide]:
    assert agent.process is not None
    with hub_side(broker) as side:
        wait_until(side.is_online, 15, "the agent's birth")
        yield side


def _first_pixel(frame: CapturedFrame) -> tuple[int, ...]:
    return tuple(int(code) for code in frame.decode().codes[0])


def _lit(frame: CapturedFrame) -> int:
    """How many pixels are lit."""
    return int(np.count_nonzero(frame.decode().codes.any(axis=1)))


def test_staged_revision_changes_nothing_until_its_take_and_then_starts_to_the_moment(
    agent: RunningAgent, hub: HubSide
) -> None:
    hub.bring_to_show(desired(1, body("#ff0000")))
    hub.publish_desired(desired(2, body("#00ff00")))
    wait_until(lambda: hub.has_staged(2), 5)
    assert hub.shows(1)
    at_ms = hub.publish_take(2, in_s=0.5)
    wait_until(lambda: hub.shows(2), 5)
    frames = agent.frames()
    first = next(frame for frame in frames if frame.revision == 2)
    assert first.show_time_s * 1_000 == pytest.approx(at_ms, abs=0.01)
    assert first.written_at_s * 1_000 >= at_ms
    for frame in frames:
        before = frame.show_time_s < first.show_time_s
        assert _first_pixel(frame) == (RED if before else GREEN)
        assert frame.revision == (1 if before else 2)
    reported = hub.reported()
    assert reported is not None
    assert (reported.taken_at_ms, reported.staged, reported.scene) == (at_ms, None, "evening")


def test_frames_lie_on_the_grid_of_the_take_without_drift(agent: RunningAgent, hub: HubSide) -> None:
    hub.publish_desired(desired(1))
    wait_until(lambda: hub.has_staged(1), 5)
    at_ms = hub.publish_take(1)
    wait_until(lambda: len(agent.frames()) > 60, 10)
    times = [frame.show_time_s for frame in agent.frames()]
    slots = [(time_s - at_ms / 1_000) / 0.04 for time_s in times]
    assert slots == pytest.approx([round(slot) for slot in slots], abs=1e-3)
    assert all(later > earlier for earlier, later in itertools.pairwise(slots))


def test_take_in_the_document_is_taken_by_a_node_that_missed_the_message(agent: RunningAgent, hub: HubSide) -> None:
    document = desired(3, body("#0000ff"), take=TakeTime(at_ms=round(time.time() * 1_000) - 60_000, fade_ms=500))
    hub.publish_desired(document)
    wait_until(lambda: hub.shows(3), 5)
    assert _first_pixel(agent.frames()[0]) == BLUE, "a fade whose window is over is skipped"


def test_crossfade_goes_from_what_showed_to_the_new_scene_in_linear_light(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1, body("#ff0000")))
    hub.publish_desired(desired(2, body("#0000ff")))
    wait_until(lambda: hub.has_staged(2), 5)
    at_ms = hub.publish_take(2, fade_ms=800)
    wait_until(lambda: agent.frames()[-1].show_time_s * 1_000 > at_ms + 1_000, 10)
    fading = [f for f in agent.frames() if at_ms / 1_000 <= f.show_time_s < at_ms / 1_000 + 0.8]
    assert len(fading) > 10
    for frame in fading:
        red, green, blue, _ = _first_pixel(frame)
        share = (frame.show_time_s - at_ms / 1_000) / 0.8
        assert (red / 255, green, blue / 255) == pytest.approx((1 - share, 0, share), abs=0.03)
    assert _first_pixel(agent.frames()[-1]) == BLUE


def test_refusal_names_revision_field_and_remedy_and_what_shows_stays(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1))
    hub.publish_desired(desired(2, body(showing="no-such-scene")))
    refusal = wait_until(hub.refusal, 5)
    assert (refusal.revision, refusal.field) == (2, "body.showing")
    assert refusal.remedy
    assert hub.shows(1)
    assert not hub.has_staged(2)
    hub.publish_take(2, in_s=0.0)
    hub.publish_desired(desired(3))
    wait_until(lambda: hub.has_staged(3), 5)
    assert hub.refusal() is None
    assert {frame.revision for frame in agent.frames()} == {1}


def test_revision_lower_than_the_one_that_shows_is_refused(hub: HubSide) -> None:
    hub.bring_to_show(desired(5))
    hub.publish_desired(desired(4, body("#00ff00"), take=TakeTime(at_ms=1)))
    refusal = wait_until(hub.refusal, 5)
    assert (refusal.revision, refusal.field) == (4, "revision")
    assert hub.shows(5)


def test_halted_rollout_is_called_off_when_the_revision_in_force_is_published_again(
    agent: RunningAgent, hub: HubSide
) -> None:
    shown = desired(1)
    hub.bring_to_show(shown)
    hub.publish_desired(desired(2, body("#00ff00")))
    wait_until(lambda: hub.has_staged(2), 5)
    hub.publish_take(2, in_s=1.5)
    hub.publish_desired(shown)
    wait_until(lambda: (r := hub.reported()) and r.staged is None, 5)
    end_s = time.time() + 2.0
    wait_until(lambda: agent.frames()[-1].show_time_s > end_s, 5)
    assert {frame.revision for frame in agent.frames()} == {1}


def test_killed_agent_is_told_by_its_will_with_its_session_and_comes_back_with_the_next(
    agent: RunningAgent, hub: HubSide
) -> None:
    hub.bring_to_show(desired(1))
    alive = hub.presence()
    assert alive is not None
    agent.kill()
    dead = wait_until(lambda: (p := hub.presence()) and p.state == "offline" and p, 3, "the will")
    assert (dead.boot_id, dead.session) == (alive.boot_id, alive.session)
    agent.start()
    reborn = wait_until(lambda: (p := hub.presence()) and p.state == "online" and p, 10)
    assert reborn.session == alive.session + 1
    assert reborn.boot_id != alive.boot_id
    wait_until(lambda: hub.shows(1), 5)


def test_broker_outage_changes_nothing_on_the_pixels_and_the_agent_reconnects(
    broker: Broker, agent: RunningAgent
) -> None:
    with hub_side(broker) as hub:
        wait_until(hub.is_online, 15)
        hub.bring_to_show(desired(1))
        session = hub.presence()
        broker.kill()
    dark_s = time.time()
    wait_until(lambda: agent.frames()[-1].written_at_s > dark_s + 1.5, 5, "frames without a broker")
    broker.start()
    with hub_side(broker) as hub:
        wait_until(hub.is_online, 15, "the agent to come back")
        again = hub.presence()
        assert again is not None
        assert session is not None
        assert again.boot_id == session.boot_id
        assert again.session == session.session + 1
        wait_until(lambda: hub.shows(1), 5)
        telemetry = wait_until(hub.telemetry, 5)
        assert telemetry[-1].late_frames < 5
    frames = agent.frames()
    assert {_first_pixel(frame) for frame in frames} == {RED}
    gaps = [later.show_time_s - earlier.show_time_s for earlier, later in itertools.pairwise(frames)]
    assert max(gaps) < 0.5


def test_restart_without_a_broker_comes_back_in_the_right_scene_within_seconds(
    broker: Broker, agent: RunningAgent
) -> None:
    with hub_side(broker) as hub:
        wait_until(hub.is_online, 15)
        hub.bring_to_show(desired(1, body("#00ff00")))
    broker.kill()
    agent.kill()
    killed_s = time.time()
    agent.start()
    frame = wait_until(
        lambda: next((f for f in agent.frames() if f.written_at_s > killed_s), None), 10, "a frame after the restart"
    )
    assert (frame.revision, _first_pixel(frame)) == (1, GREEN)
    assert frame.written_at_s - killed_s < 5


def test_take_that_power_failed_before_happens_after_the_restart_without_a_broker(
    broker: Broker, agent: RunningAgent
) -> None:
    with hub_side(broker) as hub:
        wait_until(hub.is_online, 15)
        hub.bring_to_show(desired(1))
        hub.publish_desired(desired(2, body("#00ff00")))
        wait_until(lambda: hub.has_staged(2), 5)
        hub.publish_take(2, in_s=1.5)
        wait_until(lambda: b'"take":{' in (agent.state / "staged.json").read_bytes(), 2)
    broker.kill()
    agent.kill()
    agent.start()
    wait_until(lambda: any(f.revision == 2 and _first_pixel(f) == GREEN for f in agent.frames()), 10)


def test_damaged_state_is_reported_and_the_agent_waits_for_the_hub(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1))
    agent.kill()
    (agent.state / "showing.json").write_bytes(b"\x00" * 700)
    wait_until(lambda: not hub.is_online(), 5)
    agent.start()
    damage = wait_until(lambda: (r := hub.reported()) and r.damaged_state, 10)
    assert "showing.json" in str(damage)
    wait_until(lambda: hub.shows(1), 5, "the retained document to be taken again")


def test_deliberate_stop_says_so_first_and_leaves_the_pixels_dark(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1))
    assert agent.process is not None
    agent.process.send_signal(signal.SIGTERM)
    wait_until(lambda: (p := hub.presence()) and p.state == "offline", 5)
    assert agent.process.wait() == 0
    assert not agent.frames()[-1].decode().codes.any()
    assert _first_pixel(agent.frames()[-2]) == RED


def test_telemetry_counts_up_from_the_birth_and_carries_the_draw_of_each_supply(hub: HubSide) -> None:
    hub.bring_to_show(desired(1, body("#ffffff")))
    wait_until(lambda: sum(t.revision == 1 for t in hub.telemetry()) >= 4, 10)
    telemetry = hub.telemetry()
    sequences = [message.sequence for message in telemetry]
    assert sequences == list(range(len(sequences)))
    last = telemetry[-1]
    assert last.frame_rate_target_hz == 25
    assert last.frame_rate_hz == pytest.approx(25, rel=0.05)
    assert [supply.supply for supply in last.supplies] == ["supply-1"]
    assert last.supplies[0].amps == pytest.approx(PIXELS * 0.060, rel=0.02)
    assert last.supplies[0].highest_a <= 3.2


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
    wait_until(lambda: _lit(agent.frames()[-1]) == 1, 5, "one lit pixel")
    wait_until(lambda: _lit(agent.frames()[-1]) == PIXELS, 5, "the scene to come back")
    walked = [frame.decode().codes for frame in agent.frames() if _lit(frame) == 1]
    places = [int(np.flatnonzero(codes.any(axis=1))[0]) for codes in walked]
    assert places == sorted(places)
    assert len(set(places)) == pytest.approx(20, abs=2)
    hub.ask(AskTestPattern(kind="test-pattern", channel=1, seconds=1), "2" * 16)
    wait_until(lambda: _first_pixel(agent.frames()[-1])[:3] == (255, 255, 255), 5, "a white first pixel")
    codes = next(f.decode().codes for f in agent.frames() if _lit(f) == PIXELS and _first_pixel(f) != RED)
    assert [tuple(codes[i]) for i in (1, PIXELS // 2, PIXELS - 1)] == [RED, GREEN, BLUE]
    hub.ask(AskWalk(kind="walk", channel=3), "3" * 16)
    declined = wait_until(lambda: [a for a in hub.answers() if isinstance(a.answer, Declined)], 5)
    assert declined[0].correlation == "3" * 16


def test_wiring_that_changes_at_a_take_opens_and_darkens_channels(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(1))
    two = body("#00ff00", channels=(channel(2, pixels=12),), zones=(zone(12, channel_number=2),))
    hub.bring_to_show(desired(2, two))
    wait_until(lambda: len(agent.frames(2)) > 3, 5)
    assert _first_pixel(agent.frames(2)[-1]) == GREEN
    last = agent.frames(1)[-1]
    assert not last.decode().codes.any()


def _hostile_payloads() -> list[tuple[str, bytes]]:
    valid = desired(9, body("#00ff00"), take=TakeTime(at_ms=1)).model_dump_json()
    own = topic(Leaf.DESIRED), topic(Leaf.ASK), take_topic(VENUE)
    bad: list[bytes] = [
        b"",
        b"null",
        b"[]",
        b'"text"',
        b"{",
        b"\xff\xfe\x00",
        b'{"a":' * 5_000,
        b"[" * 10_000 + b"]" * 10_000,
        b"1" * 15_000,
        b'{"schema_version":2}',
        b'{"revision":1e400,"at_ms":0}',
        b'{"revision":true,"at_ms":"now","schema_version":1}',
        b'{"revision":99,"at_ms":-5}',
        b'{"revision":"../../etc/passwd","at_ms":1}',
        b'{"schema_version":1,"correlation":"zz","expires_at_ms":1,"question":{"kind":"clock","t1_ms":0}}',
        b'{"schema_version":1,"correlation":"0123456789abcdef","expires_at_ms":9007199254740991,'
        b'"question":{"kind":"walk","channel":9}}',
    ]
    payloads = [(name, payload) for name in own for payload in bad]
    payloads += [(name, b"x" * (MAX_MESSAGE_BYTES + 1)) for name in own[1:]]
    payloads += [
        (own[0], b"x" * (MAX_DESIRED_BYTES + 1)),
        (own[0], valid.replace(NODES[0], NODES[1]).encode()),
        (own[0], valid.replace(f'"{VENUE}"', '"another"').encode()),
        (own[0], valid.replace("#00ff00", "#00ff01").encode()),
        (own[0], valid.replace('"opacity":1.0', '"opacity":7').encode()),
        (own[0], valid.replace('"showing":', '"show\\u001b[31m":').encode()),
        (own[0], desired(1, body("#00ff00"), take=TakeTime(at_ms=1)).model_dump_json().encode()),
    ]
    return payloads


def test_hostile_payloads_change_nothing_and_are_counted(agent: RunningAgent, hub: HubSide) -> None:
    hub.bring_to_show(desired(2))
    payloads = _hostile_payloads()
    for _ in range(3):
        for name, payload in payloads:
            hub.peer.publish(name, payload)
    hub.ask(AskRebirth(kind="rebirth"), "f" * 16)
    wait_until(lambda: any(answer.correlation == "f" * 16 for answer in hub.answers()), 20)
    wait_until(lambda: hub.telemetry()[-1].rejected_messages == 3 * len(payloads), 10)
    assert hub.shows(2)
    assert {frame.revision for frame in agent.frames()} == {2}
    assert {_first_pixel(frame) for frame in agent.frames()} == {RED}
    reported = hub.reported()
    assert reported is not None
    assert reported.staged is None
    assert agent.process is not None
    assert agent.process.exit_code is None
    refused = [line for line in agent.output().splitlines() if "refused" in line]
    assert 0 < len(refused) < 20, "each kind is logged once"
    assert "\x1b" not in agent.output()


def test_birth_follows_even_where_the_will_of_the_session_before_comes_late(agent: RunningAgent, hub: HubSide) -> None:
    """A second agent under the same credential takes the connection over: the first one's will crosses the birth."""
    first = hub.presence()
    assert first is not None
    assert agent.process is not None
    agent.process.send_signal(signal.SIGSTOP)
    stopped = agent.process
    agent.state = agent.state.with_name("state-2")
    try:
        agent.start()
        wait_until(lambda: (p := hub.presence()) and p.boot_id != first.boot_id, 10)
        presences = [Presence.model_validate_json(p) for p in hub.peer.heard(topic(Leaf.PRESENCE))]
        deaths = [presence for presence in presences if presence.state == "offline"]
        births = [presence for presence in presences if presence.state == "online"]
        assert births[-1].boot_id != first.boot_id
        assert {(death.boot_id, death.session) for death in deaths} <= {(first.boot_id, first.session)}
    finally:
        stopped.kill()


def test_agent_that_was_held_up_counts_late_frames_and_is_on_its_grid_again(agent: RunningAgent, hub: HubSide) -> None:
    hub.publish_desired(desired(1))
    wait_until(lambda: hub.has_staged(1), 5)
    at_ms = hub.publish_take(1)
    wait_until(lambda: len(agent.frames()) > 5, 5)
    assert agent.process is not None
    agent.process.send_signal(signal.SIGSTOP)
    held_up_s = time.time()
    wait_until(lambda: time.time() - held_up_s > 0.8, 2)
    agent.process.send_signal(signal.SIGCONT)
    wait_until(lambda: hub.telemetry()[-1].late_frames >= 15, 5)
    assert hub.telemetry()[-1].late_frames <= 25
    slot = (agent.frames()[-1].show_time_s - at_ms / 1_000) / 0.04
    assert slot == pytest.approx(round(slot), abs=1e-3)
