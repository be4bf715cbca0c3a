"""A real agent after a power cut, on a board whose clock fell behind: it says so, and the hub puts it right."""

import time

import pytest

from node_agent.clock import KeptClock
from node_agent.clock.wall_clock import wall_clock_is_disciplined
from node_agent.store import Store
from schemas import AskClock, AskRebirth, ClockAnswer, ClockExchange
from tests.brokers import Broker
from tests.node_agent.running_agent import RunningAgent, hub_side
from tests.processes import wait_until

AHEAD_S = 86_400.0


@pytest.mark.skipif(wall_clock_is_disciplined(), reason="this wall clock is kept right, so the agent believes it")
@pytest.mark.parametrize("stopped", ["SIGTERM", "power cut"])
def test_agent_says_that_it_goes_by_the_last_known_time_until_the_hub_tells_it(
    broker: Broker, tmp_path_factory: pytest.TempPathFactory, stopped: str
) -> None:
    folder = tmp_path_factory.mktemp("agent")
    agent = RunningAgent(broker, folder)
    known_ms = round((time.time() + AHEAD_S) * 1_000)
    Store(agent.state).keep_clock(KeptClock(show_time_ms=known_ms, drift_ppm=20.0))
    with hub_side(broker) as hub:
        with agent.start() as process:
            told = wait_until(hub.telemetry, 10)[-1]
            assert (told.clock_source, told.clock_offset_ms, told.clock_dispersion_ms) == ("kept", None, None)
            t1 = (time.time() + 2 * AHEAD_S) * 1_000
            hub.ask(AskClock(kind="clock", t1_ms=t1), "a" * 16)
            stamps = wait_until(hub.answers, 5)[0].answer
            assert isinstance(stamps, ClockAnswer)
            t4 = (time.time() + 2 * AHEAD_S) * 1_000
            completed = ClockExchange(t1_ms=t1, t2_ms=stamps.t2_ms, t3_ms=stamps.t3_ms, t4_ms=t4)
            hub.ask(AskClock(kind="clock", t1_ms=t4, completed=completed), "b" * 16)
            hub.ask(AskRebirth(kind="rebirth"), "c" * 16, expires_in_s=3 * AHEAD_S)
            wait_until(lambda: hub.telemetry()[-1].clock_source == "hub", 5, "the hub's time")
            if stopped == "SIGTERM":
                process.stop()
            else:
                process.kill()
        kept = Store(agent.state).clock
        assert kept is not None
        assert kept.drift_ppm == 20.0
        ahead_ms = kept.show_time_ms - time.time() * 1_000
        # Written at the end; when the power goes, at most a minute after the start and every ten minutes from then on.
        assert ahead_ms / 1_000 == pytest.approx(2 * AHEAD_S if stopped == "SIGTERM" else AHEAD_S, abs=30)
