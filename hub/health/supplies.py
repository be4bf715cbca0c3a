"""Who draws from which supply, by what nodes tell, held against each supply's budget."""

from collections.abc import Iterator, Mapping

from hub.fleet.lifeline import silent_after_s
from hub.fleet.state import NodeState
from hub.health.sight import Drawing, SupplySight
from schemas import Venue

Key = tuple[str, str]


class Supplies:
    """Supplies by (venue, supply), nodes by (venue, node)."""

    def __init__(self, telemetry_interval_s: float) -> None:
        self._telemetry_interval_s = telemetry_interval_s
        self._budgets_a: dict[str, Mapping[str, float]] = {}
        self._nodes_of: dict[Key, dict[Key, None]] = {}

    def venue_changed(self, venue: Venue) -> None:
        self._budgets_a[venue.id] = {supply.id: supply.budget_a for supply in venue.supplies}
        for key in [key for key in self._nodes_of if key[0] == venue.id and key[1] not in self._budgets_a[venue.id]]:
            del self._nodes_of[key]

    def note(self, node: NodeState) -> Iterator[tuple[Key, None]]:
        """Take in what a node draws from; those supplies, as keys to look at."""
        if node.telemetry is not None:
            for told in node.telemetry.supplies:
                if told.supply in self._budgets_a.get(node.venue, ()):
                    key = (node.venue, told.supply)
                    self._nodes_of.setdefault(key, {})[node.key] = None
                    yield key, None

    def forget(self, node: Key) -> None:
        for nodes in self._nodes_of.values():
            nodes.pop(node, None)

    def sight(self, key: Key, nodes: Mapping[Key, NodeState], now_s: float) -> SupplySight | None:
        """None where no venue has such a supply."""
        venue, supply = key
        budget_a = self._budgets_a.get(venue, {}).get(supply)
        if budget_a is None:
            return None
        drawing: list[Drawing] = []
        fresh = True
        for one in self._nodes_of.get(key, ()):
            node = nodes.get(one)
            if node is None or node.telemetry is None or node.telemetry_at_s is None:
                continue
            shares = [told for told in node.telemetry.supplies if told.supply == supply]
            if not node.online or now_s - node.telemetry_at_s > silent_after_s(node, self._telemetry_interval_s):
                fresh = fresh and not shares
                continue
            granted_a = _granted_a(node, supply)
            drawing += [Drawing(node.node, told.amps, told.limiter_scale, granted_a) for told in shares]
        return SupplySight(budget_a, drawing, fresh)


def _granted_a(node: NodeState, supply: str) -> float | None:
    """What the node itself says that it may draw."""
    if node.reported is None or node.reported.grant is None:
        return None
    return next((one.budget_a for one in node.reported.grant.supplies if one.supply == supply), 0.0)
