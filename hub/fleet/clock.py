"""The hub's side of the clock exchange (RFC 5905, section 8): t1 and t4 by show time, t2 and t3 by the node.

A burst at birth, then one exchange about each half minute. The four stamps go back to the node with the next question;
where the next is not at hand, one is sent at once to carry them. The node does the arithmetic.
"""

import heapq
import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from hub.fleet.loop import FleetLoop
from hub.fleet.sending import LIFETIME_S, send_question
from hub.fleet.state import NodeState
from schemas import AskClock, ClockAnswer, ClockExchange, Leaf

BURST: Final = 8
BURST_STEP_S: Final = 0.3
INTERVAL_S: Final = 30.0
ASKS_PER_TICK: Final = 60


@dataclass(slots=True)
class _Exchange:
    """What is under way with one node. `serial` tells the heap's entry in force from outdated ones."""

    session: tuple[str | None, int | None]
    burst_left: int = BURST
    serial: int = 0
    correlation: str = ""
    t1_ms: float = 0.0
    carries_only: bool = False
    completed: ClockExchange | None = None


class ClockExchanges:
    """A fleet listener. `clock` is show time, seconds."""

    def __init__(self, loop: FleetLoop, clock: Callable[[], float] = time.time) -> None:
        self._loop = loop
        self._clock = clock
        self._connected = False
        self._exchanges: dict[tuple[str, str], _Exchange] = {}
        self._due: list[tuple[float, int, tuple[str, str]]] = []
        self._serial = 0

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        if not node.online:
            self._exchanges.pop(node.key, None)
            return
        exchange = self._exchanges.get(node.key)
        if exchange is None or exchange.session != (node.boot_id, node.session):
            exchange = self._exchanges[node.key] = _Exchange((node.boot_id, node.session))
            self._schedule(node.key, exchange, now_s)
        if leaf is Leaf.ANSWER and node.answer is not None and isinstance(node.answer.answer, ClockAnswer):
            self._answered(node, exchange, node.answer.answer, now_s)

    def link_changed(self, connected: bool, _now_s: float) -> None:
        self._connected = connected
        self._exchanges.clear()
        self._due.clear()

    def tick(self, now_s: float) -> None:
        if not self._connected:
            return
        sent = 0
        while self._due and self._due[0][0] <= now_s and sent < ASKS_PER_TICK:
            _, serial, key = heapq.heappop(self._due)
            exchange = self._exchanges.get(key)
            if exchange is None or exchange.serial != serial:
                continue
            exchange.burst_left = max(0, exchange.burst_left - 1)
            self._ask(key, exchange, carries_only=False)
            wait_s = BURST_STEP_S if exchange.burst_left else INTERVAL_S * random.uniform(0.9, 1.1)  # noqa: S311 (spread)
            self._schedule(key, exchange, now_s + wait_s)
            sent += 1

    def _answered(self, node: NodeState, exchange: _Exchange, answer: ClockAnswer, received_s: float) -> None:
        assert node.answer is not None  # noqa: S101 (the caller looked)
        expected = node.answer.correlation == exchange.correlation and answer.t1_ms == exchange.t1_ms
        if not expected or exchange.carries_only or received_s - exchange.t1_ms / 1000 > LIFETIME_S:
            return
        exchange.correlation = ""
        exchange.completed = ClockExchange(
            t1_ms=answer.t1_ms, t2_ms=answer.t2_ms, t3_ms=answer.t3_ms, t4_ms=received_s * 1000
        )
        if not exchange.burst_left:
            self._ask(node.key, exchange, carries_only=True)

    def _ask(self, key: tuple[str, str], exchange: _Exchange, *, carries_only: bool) -> None:
        now_s = self._clock()
        completed, exchange.completed = exchange.completed, None
        exchange.t1_ms = now_s * 1000
        exchange.carries_only = carries_only
        question = AskClock(kind="clock", t1_ms=exchange.t1_ms, completed=completed)
        exchange.correlation = send_question(self._loop, key, question, now_s)

    def _schedule(self, key: tuple[str, str], exchange: _Exchange, at_s: float) -> None:
        self._serial += 1
        exchange.serial = self._serial
        heapq.heappush(self._due, (at_s, self._serial, key))
