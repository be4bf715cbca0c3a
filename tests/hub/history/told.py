"""A venue of two boards on one supply, telling into a history whose clock the test sets."""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Engine

from hub.fleet.state import FleetState, NodeState
from hub.history import HistoryService, Quantity, Series, SubjectKind
from schemas import Leaf
from tests.hub.energy.told import FIRST, SECOND, SUPPLY, VENUE, shared_venue
from tests.hub.played_node import telemetry

INTERVAL_S = 5.0
NOON_S = datetime(2031, 5, 1, 12, tzinfo=UTC).timestamp()


@dataclass
class Played:
    """A service over `engine`; `now_s` is its clock. Told times move it on."""

    engine: Engine
    now_s: float = NOON_S
    fleet: FleetState = field(default_factory=FleetState)

    def __post_init__(self) -> None:
        self.fleet.set_roster(VENUE, (FIRST, SECOND))
        self.service = HistoryService(self.engine, self.fleet, INTERVAL_S, clock=lambda: self.now_s)
        self.service.venue_changed(shared_venue())

    def tell(self, at_s: float, node: str = FIRST, **changes: Any) -> NodeState:  # noqa: ANN401 (any field)
        """A telemetry message heard at `at_s`."""
        self.now_s = max(self.now_s, at_s)
        state = self.fleet.nodes[VENUE, node]
        state.online, state.telemetry, state.telemetry_at_s = True, telemetry(**changes), at_s
        self.service.node_changed(state, Leaf.TELEMETRY, at_s)
        return state

    def pass_time(self, until_s: float) -> None:
        """The loop's ticks up to then, once a second."""
        while self.now_s < until_s:
            self.now_s += 1
            self.service.tick(self.now_s)

    def close_all(self) -> int:
        """Parts that were closed."""
        parts = 0
        while self.service.close_hours():
            parts += 1
        return parts

    def series(
        self,
        from_s: float,
        until_s: float,
        *quantities: Quantity,
        points: int = 2_000,
        kind: SubjectKind = SubjectKind.NODE,
        subject: str = FIRST,
    ) -> Series:
        wanted = quantities or (Quantity.AMPS,)
        return self.service.series(VENUE, kind, subject, wanted, round(from_s * 1000), round(until_s * 1000), points)


def drawing(amps: float, highest_a: float | None = None, scale: float = 1.0) -> dict[str, Any]:
    """Changes of a message: its draw from the one supply."""
    one = {"supply": SUPPLY, "amps": amps, "highest_a": highest_a or amps, "limiter_scale": scale}
    return {"supplies": [one | {"wanted_a": amps, "charge_ah": 0.0}]}
