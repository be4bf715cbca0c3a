"""A node's clocks, turned by hand, and a hub to exchange stamps with."""

from node_agent.clock import ShowClock
from schemas import ClockExchange


class Clocks:
    """The node's crystal loses `drift` seconds a second on the hub's; its wall clock goes with its crystal."""

    def __init__(self, ahead_s: float = 1_000.0, drift: float = 0.0, *, disciplined: bool = False) -> None:
        self.now_s = 50.0
        self.wall_ahead_s = 1_700_000_000.0
        self.ahead_s = ahead_s
        self.drift = drift
        self.disciplined = disciplined
        self.clock = self.restarted()

    def restarted(self) -> ShowClock:
        self.clock = ShowClock(lambda: self.now_s, self.wall_s, lambda: self.disciplined)
        return self.clock

    def wall_s(self) -> float:
        return self.wall_ahead_s + self.now_s

    def wait(self, seconds: float) -> None:
        self.now_s += seconds
        self.ahead_s += self.drift * seconds

    def hub_s(self) -> float:
        return self.now_s + self.ahead_s

    def exchange(self, to_node_s: float = 0.001, to_hub_s: float = 0.001) -> None:
        t1 = self.hub_s() * 1_000
        self.wait(to_node_s)
        t2 = self.clock.node_ms()
        self.wait(0.0005)
        t3 = self.clock.node_ms()
        self.clock.answered(t1, t2, t3)
        self.wait(to_hub_s)
        t4 = self.hub_s() * 1_000
        self.clock.complete(ClockExchange(t1_ms=t1, t2_ms=t2, t3_ms=t3, t4_ms=t4))

    def error_s(self) -> float:
        return self.clock.show_s() - self.hub_s()

    def dispersion_s(self) -> float:
        dispersion_ms = self.clock.dispersion_ms()
        assert dispersion_ms is not None
        return dispersion_ms / 1_000
