"""A real agent whose board has bad clocks: a crystal that drifts, and a wall clock that is wrong and then leaps.

Captures keep true time, so that what several boards put on their wires can be compared.
"""

import argparse
import signal
import sys
import time
from pathlib import Path

from node_agent.agent import Agent
from node_agent.board import RehearsalBoard
from node_agent.clock import ShowClock
from node_agent.inbox import Stopping
from node_agent.store import Store
from schemas import NodeCredential

LEAPS_AFTER_S = 6.0


class BadClocks:
    """`drift_ppm` is how much the crystal gains; the wall clock is `skew_s` ahead, and leaps by `leap_s` later on."""

    def __init__(self, drift_ppm: float, skew_s: float, leap_s: float) -> None:
        self._began_s, self._wall_began_s = time.monotonic(), time.time() + skew_s
        self._rate, self._leap_s = 1 + drift_ppm * 1e-6, leap_s

    def monotonic(self) -> float:
        return self._began_s + (time.monotonic() - self._began_s) * self._rate

    def wall(self) -> float:
        gone_s = self.monotonic() - self._began_s
        return self._wall_began_s + gone_s + (self._leap_s if gone_s > LEAPS_AFTER_S else 0.0)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--credential", type=Path, required=True)
    parser.add_argument("--state", type=Path, required=True)
    parser.add_argument("--capture", type=Path, required=True)
    parser.add_argument("--drift-ppm", type=float, required=True)
    parser.add_argument("--skew-s", type=float, required=True)
    parser.add_argument("--leap-s", type=float, required=True)
    options = parser.parse_args()
    clocks = BadClocks(options.drift_ppm, options.skew_s, options.leap_s)
    credential = NodeCredential.model_validate_json(options.credential.read_text())
    options.capture.mkdir(parents=True, exist_ok=True)
    clock = ShowClock(clocks.monotonic, clocks.wall, lambda: False)
    agent = Agent(credential, Store(options.state), RehearsalBoard(options.capture), clock)
    signal.signal(signal.SIGTERM, lambda _number, _frame: agent.inbox.put(Stopping("SIGTERM")))
    sys.setswitchinterval(0.001)  # as `stringcourse-node start` does
    agent.run()


if __name__ == "__main__":
    main()
