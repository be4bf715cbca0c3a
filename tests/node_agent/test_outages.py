"""Agents that are killed, cut off or stopped, as processes and on each kind of broker: what shows, and what is told."""

import itertools
import signal
import time

import pytest

from schemas import Leaf, Presence, TimedTake
from tests.brokers import Broker
from tests.node_agent.documents import body, desired, scene
from tests.node_agent.running_agent import BLUE, GREEN, RED, HubSide, RunningAgent, amps, first_pixel, hub_side, topic
from tests.processes import wait_until


@pytest.fixture
def broker(each_broker: Broker) -> Broker:
    return each_broker


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
        # A broker that keeps what is retained may still hold the birth of the session before.
        assert session is not None
        again = wait_until(
            lambda: (p := hub.presence()) and p.session == session.session + 1 and p, 15, "the next session"
        )
        assert (again.state, again.boot_id) == ("online", session.boot_id)
        wait_until(lambda: hub.shows(1), 5)
        wait_until(hub.telemetry, 5)
    frames = agent.frames()
    assert {first_pixel(frame) for frame in frames} == {RED}
    gaps = [later.show_time_s - earlier.show_time_s for earlier, later in itertools.pairwise(frames)]
    assert max(gaps) < 1.0


def test_restart_without_a_broker_comes_back_within_seconds_in_the_scene_that_its_timetable_came_to_meanwhile(
    broker: Broker, agent: RunningAgent
) -> None:
    scenes = (scene("#ff0000", "evening"), scene("#00ff00", "night"), scene("#0000ff", "morning"))
    with hub_side(broker) as hub:
        wait_until(hub.is_online, 15)
        night_ms = round(time.time() * 1_000) + 2_000
        takes = (TimedTake(at_ms=night_ms, scene="night"), TimedTake(at_ms=night_ms + 5_000, scene="morning"))
        hub.bring_to_show(desired(1, body(scenes=scenes, timetable=takes)))
        assert first_pixel(agent.frames()[-1]) == RED
    broker.kill()
    agent.kill()
    wait_until(lambda: time.time() * 1_000 > night_ms, 5, "the night to begin without power")
    started_s = time.time()
    agent.start()
    frame = wait_until(
        lambda: next((f for f in agent.frames() if f.written_at_s > started_s), None), 10, "a frame after the restart"
    )
    assert (frame.revision, first_pixel(frame)) == (1, GREEN)
    assert frame.written_at_s - started_s < 5
    wait_until(lambda: first_pixel(agent.frames()[-1]) == BLUE, 10, "the morning, still without a broker")
    first_blue = next(frame for frame in agent.frames() if first_pixel(frame) == BLUE)
    assert night_ms + 5_000 <= round(first_blue.show_time_s * 1_000) < night_ms + 5_250
    assert {first_pixel(frame) for frame in agent.frames()} == {RED, GREEN, BLUE}, "never dark in between"


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
    wait_until(lambda: any(f.revision == 2 and first_pixel(f) == GREEN for f in agent.frames()), 10)


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
    assert first_pixel(agent.frames()[-2]) == RED


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


def test_lowered_grant_is_confirmed_once_it_is_on_the_wires_and_outlives_power_and_broker(
    broker: Broker, agent: RunningAgent
) -> None:
    with hub_side(broker) as hub:
        wait_until(hub.is_online, 15)
        hub.bring_to_show(desired(1, body("#ffffff")))
        wait_until(lambda: hub.obeys(1) and amps(agent.frames()[-1]) > 1.0, 15)
        hub.grant(2, 0.4)
        wait_until(lambda: hub.obeys(2), 5)
        assert amps(agent.frames()[-1]) <= 0.4
        hub.grant(1, 3.0)
        wait_until(lambda: hub.obeys(2), 5)
    broker.kill()
    agent.kill()
    killed_s = time.time()
    agent.start()
    wait_until(lambda: sum(f.written_at_s > killed_s for f in agent.frames()) > 10, 10, "frames after the restart")
    after = [amps(frame) for frame in agent.frames() if frame.written_at_s > killed_s]
    assert 0.2 < max(after) <= 0.4
