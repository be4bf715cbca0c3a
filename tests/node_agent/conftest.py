"""A running agent and the hub's side of its topics."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.brokers import Broker
from tests.node_agent.running_agent import HubSide, RunningAgent, hub_side
from tests.processes import wait_until


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
