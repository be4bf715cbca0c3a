"""What no node tells alone, sampled from what all told last: supplies and venues. On the fleet loop's thread.

A node's word holds for three telemetry intervals and ends when the node goes off. Where no node of a supply is heard,
nobody knows what it carries, and nothing is told.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from hub.fleet.state import FleetState, NodeState
from hub.history.quantities import COLUMN, COLUMNS, Quantity, SubjectKind
from hub.history.table import SubjectName
from schemas import Telemetry, Venue

MISSED_INTERVALS: Final = 3

Values = list[float | None]
"""One for each of `COLUMNS`."""


@dataclass(slots=True)
class _Drawn:
    amps: float = 0.0
    highest_a: float = 0.0
    scale: float = 1.0


@dataclass(slots=True)
class _Together:
    """A venue's nodes together."""

    online: int = 0
    supplies: dict[str, _Drawn] = field(default_factory=dict)


class FleetSampler:
    """Of the venues that it was told of."""

    def __init__(self, fleet: FleetState, telemetry_interval_s: float) -> None:
        self._fleet = fleet
        self._holds_s = MISSED_INTERVALS * telemetry_interval_s
        self._budgets: dict[str, Mapping[str, float]] = {}

    def venue_changed(self, venue: Venue) -> None:
        self._budgets = self._budgets | {venue.id: {supply.id: supply.budget_a for supply in venue.supplies}}

    def sample(self, now_s: float) -> Iterator[tuple[SubjectName, Values]]:
        """Each venue, and each supply of which a node is heard, as they are now."""
        together = {venue: _Together() for venue in self._budgets}
        for node in self._fleet.nodes.values():
            venue = together.get(node.venue)
            if venue is not None and node.online:
                venue.online += 1
                telemetry = self._holding(node, now_s)
                if telemetry is not None:
                    _add(venue.supplies, telemetry)
        for name, venue in together.items():
            budgets = self._budgets[name]
            for supply, drawn in venue.supplies.items():
                if supply in budgets:
                    yield (name, SubjectKind.SUPPLY, supply), _values(drawn, budget_a=budgets[supply])
            yield (name, SubjectKind.VENUE, name), _values(_sum(venue.supplies.values()), online=venue.online)

    def _holding(self, node: NodeState, now_s: float) -> Telemetry | None:
        at_s = node.telemetry_at_s
        return None if at_s is None or now_s - at_s > self._holds_s else node.telemetry


def _add(supplies: dict[str, _Drawn], telemetry: Telemetry) -> None:
    for one in telemetry.supplies:
        drawn = supplies.get(one.supply)
        if drawn is None:
            drawn = supplies[one.supply] = _Drawn()
        drawn.amps += one.amps
        drawn.highest_a += one.highest_a
        drawn.scale = min(drawn.scale, one.limiter_scale)


def _sum(supplies: Collection[_Drawn]) -> _Drawn | None:
    if not supplies:
        return None
    return _Drawn(
        sum(one.amps for one in supplies), sum(one.highest_a for one in supplies), min(one.scale for one in supplies)
    )


def _values(drawn: _Drawn | None, *, budget_a: float | None = None, online: int | None = None) -> Values:
    values: Values = [None] * len(COLUMNS)
    if drawn is not None:
        values[COLUMN[Quantity.AMPS]] = drawn.amps
        values[COLUMN[Quantity.HIGHEST_AMPS]] = drawn.highest_a
        values[COLUMN[Quantity.LIMITER_SCALE]] = drawn.scale
    values[COLUMN[Quantity.BUDGET]] = budget_a
    values[COLUMN[Quantity.NODES_ONLINE]] = online
    return values
