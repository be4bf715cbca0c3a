"""Simulated time: what is to happen, in order."""

import heapq
from collections.abc import Callable
from itertools import count


class Agenda:
    """Time moves only by `run_until`. What is due at one instant happens in the order in which it was arranged."""

    def __init__(self, now_s: float) -> None:
        self.now_s = now_s
        self._due: list[tuple[float, int, Callable[[], None]]] = []
        self._order = count()

    def at(self, at_s: float, work: Callable[[], None]) -> None:
        heapq.heappush(self._due, (at_s, next(self._order), work))

    def after(self, wait_s: float, work: Callable[[], None]) -> None:
        self.at(self.now_s + wait_s, work)

    def every(self, period_s: float, work: Callable[[], None]) -> None:
        """First after one period, without end."""

        def again() -> None:
            self.after(period_s, again)
            work()

        self.after(period_s, again)

    def run_until(self, end_s: float) -> None:
        while self._due and self._due[0][0] <= end_s:
            self.now_s, _, work = heapq.heappop(self._due)
            work()
        self.now_s = end_s
