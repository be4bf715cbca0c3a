"""Live state for readers: lists for the API, and `node` events for whoever follows the event stream."""

from collections.abc import Callable
from typing import Final

from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.fleet.roster import Roster
from hub.fleet.state import NodeState
from hub.fleet.view import NodeStateView, view_of
from schemas import Leaf

EVENT_EVERY_S: Final = 1.0
EVENTS_PER_TICK: Final = 100

_TELEMETRY = Leaf.TELEMETRY  # a member of an enumeration is looked up slowly in Python 3.11


class NodeViews:
    """A fleet listener. Telemetry makes at most one event a node and second; birth, death and reports come at once."""

    def __init__(
        self,
        loop: FleetLoop,
        roster: Roster,
        events: EventBus,
        desired_revision: Callable[[str, str], int | None],
    ) -> None:
        self._loop = loop
        self._roster = roster
        self._events = events
        self._desired_revision = desired_revision
        self._due: dict[tuple[str, str], float] = {}
        self._told_at_s: dict[tuple[str, str], float] = {}

    def states(self, venue: str) -> list[NodeStateView]:
        """Every node of the venue, by id. Raises NotFoundError."""
        titles = self._roster.titles(venue)

        def read(_now_s: float) -> list[NodeStateView]:
            return [
                view_of(node, titles.get(node.node), self._desired_revision(venue, node.node))
                for node in self._loop.state.of_venue(venue)
                if node.node in titles  # not one that takes its leave
            ]

        return sorted(self._loop.call(read), key=lambda view: view.node)

    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None:
        # Telemetry is due no sooner than what is due already; most of it ends here.
        if (leaf is _TELEMETRY and node.key in self._due) or leaf is Leaf.ANSWER:
            return
        at_s = now_s
        if leaf is _TELEMETRY:
            at_s = max(now_s, self._told_at_s.get(node.key, 0.0) + EVENT_EVERY_S)
        self._due[node.key] = min(at_s, self._due.get(node.key, at_s))

    def link_changed(self, connected: bool, now_s: float) -> None:
        pass

    def tick(self, now_s: float) -> None:
        if not self._due:
            return
        followed: dict[str, bool] = {}
        ready = [key for key, at_s in self._due.items() if at_s <= now_s]
        for key in ready[:EVENTS_PER_TICK]:
            del self._due[key]
            venue, name = key
            if venue not in followed:
                followed[venue] = self._events.has_subscribers(venue)
            node = self._loop.state.nodes.get(key)
            if node is None:
                self._told_at_s.pop(key, None)
            elif followed[venue] and name in self._roster.titles(venue):
                self._told_at_s[key] = now_s
                title = self._roster.titles(venue)[name]
                view = view_of(node, title, self._desired_revision(venue, name))
                self._events.publish("node", venue, view.model_dump(mode="json"))
