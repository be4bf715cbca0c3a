"""Time that passes only while the frame loop waits for it: the loop's own thread and rules, days in seconds."""

import threading

from node_agent.clock import ShowClock
from tests.processes import wait_until


class SimulatedTime:
    """What a `FrameLoop` runs on: `clock`, and `changed` to wait on. Time stands still at the moment last allowed."""

    def __init__(self, start_s: float) -> None:
        self.now_s = 1_000.0
        self._wall_from_s = start_s - self.now_s
        self._limit_s = self.now_s
        self._stands = False
        self.clock = ShowClock(lambda: self.now_s, lambda: self._wall_from_s + self.now_s, lambda: False)
        self.changed: threading.Condition = _Waiting(self)

    def run_until(self, show_s: float, deadline_s: float = 60.0) -> None:
        """Lets time pass up to this show time, and returns once the loop has done all that lies before it."""
        with self.changed:
            self._limit_s = self.now_s + show_s - self.clock.show_s()
            self._stands = False
            self.changed.notify_all()
        wait_until(lambda: self._stands and self.now_s >= self._limit_s, deadline_s, "simulated time to pass")

    def pass_by(self, seconds: float) -> bool:
        """By the waiting loop: whether time went on."""
        step_s = min(seconds, self._limit_s - self.now_s)
        if step_s <= 0:
            self._stands = True
            return False
        self.now_s += step_s
        return True


class _Waiting(threading.Condition):
    def __init__(self, time: SimulatedTime) -> None:
        super().__init__()
        self._time = time

    def wait(self, timeout: float | None = None) -> bool:
        if timeout is not None and self._time.pass_by(timeout):
            return False
        return super().wait()
