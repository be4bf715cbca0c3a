"""A real agent tells of its starts, and what its board says."""

from tests.brokers import Broker
from tests.node_agent.running_agent import RunningAgent, hub_side
from tests.processes import wait_until


def test_agent_tells_why_it_runs_anew(broker: Broker, agent: RunningAgent) -> None:
    with hub_side(broker) as hub:

        def told(starts: int) -> str:
            boards = [telemetry.board for telemetry in hub.telemetry()]
            return next((board.start_cause for board in boards if board and board.starts == starts), "")

        wait_until(lambda: told(1), 15, "the first telemetry")
        agent.kill()
        agent.start()
        wait_until(lambda: told(2), 15, "telemetry of the second start")
        assert agent.process is not None
        agent.process.stop()
        agent.start()
        wait_until(lambda: told(3), 15, "telemetry of the third start")
        assert [told(1), told(2), told(3)] == ["first", "crash", "restart"]
        board = hub.telemetry()[-1].board
        assert board is not None
        assert board.memory_free_share is not None
        assert board.disk_free_share is not None
        assert (board.errors, board.reconnects, board.link) == (0, 0, None)  # this broker is on this very machine
