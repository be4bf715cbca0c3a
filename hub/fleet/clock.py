"""The hub's side of the clock exchange (RFC 5905, section 8): t1 and t4 by show time, t2 and t3 by the node.

A burst at birth, then exchanges ever further apart while the node's crystal is being learnt, up to minutes. Where more
exchanges can make a node more certain, they stay closer together. The four stamps go back to the node with the next
question; where the next is not at hand, one is sent at once to carry them. The node does the arithmetic.
"""

import heapq
import math
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
FIRST_WAIT_S: Final = 1.0
WAIT_GROWTH: Final = 1.1
LONGEST_WAIT_S: Final = 120.0
UNSETTLED_MS: Final = 8.0
"""A node whose dispersion exceeds half the least delay by more than this can do with more exchanges."""

UNSETTLED_WAIT_S: Final = 16.0
ASKS_PER_TICK: Final = 60
STEP_S: Final = 0.01
"""Between two ticks synchronisation slews the hub's clock by far less than this: it was stepped."""

_ANSWER = Leaf.ANSWER  # a member of an enumeration is looked up slowly in Python 3.11


@dataclass(slots=True)
class _Exchange:
    """What is under way with one node. `serial` tells the heap's entry in force from outdated ones."""

    session: tuple[str | None, int | None]
    burst_left: int = BURST
    wait_s: float = FIRST_WAIT_S
    least_delay_ms: float = math.inf
    serial: int = 0
    correlation: str = ""
    t1_ms: float = 0.0
    carries_only: bool = False
    completed: ClockExchange | None = None


def next_wait_s(wait_s: float, least_delay_ms: float, dispersion_ms: float | None) -> float:
    """How long to the exchange after the next, given the wait before it and what the node last said."""
    unsettled = dispersion_ms is not None and dispersion_ms - least_delay_ms / 2 > UNSETTLED_MS
    if unsettled and wait_s > UNSETTLED_WAIT_S:
        return max(UNSETTLED_WAIT_S, wait_s / 2)
    return min(LONGEST_WAIT_S, wait_s * WAIT_GROWTH)


class ClockExchanges:
    """A fleet listener. `clock` is show time, seconds; a step of it against `monotonic` makes every exchange anew."""

    def __init__(
        self,
        loop: FleetLoop,
        clock: Callable[[], float] = time.time,
        monotonic: Callable[[], float] = time.monotonic,
    ) -> None:
        self._loop = loop
        self._clock = clock
        self._monotonic = monotonic
        self._ahead_s = clock() - monotonic()
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
            exchange = self._begin(node.key, (node.boot_id, node.session), now_s)
        if leaf is _ANSWER and node.answer is not None and isinstance(node.answer.answer, ClockAnswer):
            self._answered(node, exchange, node.answer.answer, now_s)

    def link_changed(self, connected: bool, _now_s: float) -> None:
        self._connected = connected
        self._exchanges.clear()
        self._due.clear()

    def tick(self, now_s: float) -> None:
        ahead_s = self._clock() - self._monotonic()
        stepped, self._ahead_s = abs(ahead_s - self._ahead_s) > STEP_S, ahead_s
        if not self._connected:
            return
        if stepped:
            self._due.clear()
            for key, begun in list(self._exchanges.items()):
                self._begin(key, begun.session, now_s)
        sent = 0
        while self._due and self._due[0][0] <= now_s and sent < ASKS_PER_TICK:
            _, serial, key = heapq.heappop(self._due)
            exchange = self._exchanges.get(key)
            if exchange is None or exchange.serial != serial:
                continue
            exchange.burst_left = max(0, exchange.burst_left - 1)
            self._ask(key, exchange, carries_only=False)
            self._schedule(key, exchange, now_s + self._wait_s(key, exchange))
            sent += 1

    def _wait_s(self, key: tuple[str, str], exchange: _Exchange) -> float:
        if exchange.burst_left:
            return BURST_STEP_S
        wait_s = exchange.wait_s * random.uniform(0.9, 1.1)  # noqa: S311 (spread)
        node = self._loop.state.nodes.get(key)
        told = node.telemetry.clock_dispersion_ms if node and node.telemetry else None
        exchange.wait_s = next_wait_s(exchange.wait_s, exchange.least_delay_ms, told)
        return wait_s

    def _begin(self, key: tuple[str, str], session: tuple[str | None, int | None], now_s: float) -> _Exchange:
        exchange = self._exchanges[key] = _Exchange(session)
        self._schedule(key, exchange, now_s)
        return exchange

    def _answered(self, node: NodeState, exchange: _Exchange, answer: ClockAnswer, received_s: float) -> None:
        assert node.answer is not None  # noqa: S101 (the caller looked)
        expected = node.answer.correlation == exchange.correlation and answer.t1_ms == exchange.t1_ms
        if not expected or exchange.carries_only or received_s - exchange.t1_ms / 1000 > LIFETIME_S:
            return
        exchange.correlation = ""
        exchange.completed = ClockExchange(
            t1_ms=answer.t1_ms, t2_ms=answer.t2_ms, t3_ms=answer.t3_ms, t4_ms=received_s * 1000
        )
        delay_ms = (received_s * 1_000 - answer.t1_ms) - (answer.t3_ms - answer.t2_ms)
        if delay_ms >= 0:  # a node may say anything
            exchange.least_delay_ms = min(exchange.least_delay_ms, delay_ms)
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
