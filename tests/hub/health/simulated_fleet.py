"""Nodes that go silent and come back in simulated time, over the real loop, service and database."""

from collections.abc import Iterable
from itertools import count
from types import TracebackType
from typing import Self

from sqlalchemy import Engine

from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.fleet.state import Boot
from hub.health.kinds import FindingKind
from hub.health.service import EVALUATE_EVERY_S, HealthService
from hub.health.table import FindingFilter
from hub.health.view import FindingView
from schemas import Leaf, Venue
from tests.hub.fleet.test_awareness import BOOT, presence

START_S = 1_000_000.0


class SimulatedFleet:
    """The loop runs, so that persons' calls reach the service; but the service is told of time by `pass_time` only."""

    def __init__(self, engine: Engine, venue: Venue, now_s: float = START_S) -> None:
        self.now_s = now_s
        self.venue = venue
        self._boots = count()
        self.loop = FleetLoop(clock=lambda: self.now_s)
        self.health = HealthService(
            engine, self.loop, EventBus(), telemetry_interval_s=5.0, desired_revision=lambda _venue, _node: None
        )
        self.loop.set_roster(venue.id, [node.id for node in venue.nodes])
        self.health.venue_changed(venue)
        self.health.adopt_open()
        self.health.link_changed(True, now_s)
        for node in venue.nodes:
            state = self.loop.state.nodes[venue.id, node.id]
            state.online, state.presence = True, presence("online", 1)
            state.boot_id, state.session, state.heard_at_s = BOOT, 1, now_s

    def __enter__(self) -> Self:
        self.loop.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.loop.stop()

    def cut(self, nodes: Iterable[str]) -> None:
        """Their last wills arrive now."""
        self._turn(nodes, online=False)

    def mend(self, nodes: Iterable[str]) -> None:
        self._turn(nodes, online=True)

    def start_anew(self, nodes: Iterable[str]) -> None:
        """They come back by a birth of another boot."""
        nodes = list(nodes)

        def work(now_s: float) -> None:
            for name in nodes:
                boots = self.loop.state.nodes[self.venue.id, name].boots
                if not boots:
                    boots.append(Boot("first", START_S))
                boots.append(Boot(f"boot-{next(self._boots)}", now_s))

        self.loop.call(work)
        self.mend(nodes)

    def pass_time(self, duration_s: float) -> None:
        until_s = self.now_s + duration_s
        while self.now_s < until_s:
            self.now_s = min(self.now_s + EVALUATE_EVERY_S, until_s)
            self.loop.call(self.health.tick)

    def findings(
        self, *, open_only: bool | None = True, folded: bool = False, kind: FindingKind | None = FindingKind.SILENT
    ) -> list[FindingView]:
        """Those of silence unless told otherwise, oldest first."""
        wanted = FindingFilter(open_only, kind, folded=folded)
        return self.health.findings(self.venue.id, wanted, None, 500)[::-1]

    def told(self) -> list[str]:
        """The nodes, or causes, that open findings which no other stands for are about."""
        return sorted(one.node or (one.cause.name if one.cause else "") for one in self.findings())

    def _turn(self, nodes: Iterable[str], *, online: bool) -> None:
        def work(now_s: float) -> None:
            for name in nodes:
                state = self.loop.state.nodes[self.venue.id, name]
                state.online = online
                if online:
                    state.heard_at_s = now_s
                else:
                    state.died_at_s = now_s
                self.health.node_changed(state, Leaf.PRESENCE, now_s)

        self.loop.call(work)
