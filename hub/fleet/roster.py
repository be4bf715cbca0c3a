"""Which venues and nodes there are, by the inventory's word: what the fleet loop listens to, and the nodes' titles."""

import threading
from collections.abc import Iterable, Mapping

from hub.errors import NotFoundError
from hub.fleet.loop import FleetLoop
from schemas import Venue


class Roster:
    """Told of each venue at the start and after each change; asked from any thread."""

    def __init__(self, loop: FleetLoop) -> None:
        self._loop = loop
        self._lock = threading.Lock()
        self._titles: dict[str, Mapping[str, str | None]] = {}

    def venue_changed(self, venue: Venue, leaving: Iterable[str] = ()) -> None:
        """Listen to exactly the nodes that the venue has now, and to those that are still taking their leave."""
        titles = {node.id: node.title for node in venue.nodes}
        with self._lock:
            self._titles[venue.id] = titles
        self._loop.set_roster(venue.id, [*titles, *leaving])

    def venue_removed(self, venue: str) -> None:
        with self._lock:
            self._titles.pop(venue, None)
        self._loop.forget_venue(venue)

    def titles(self, venue: str) -> Mapping[str, str | None]:
        """Title of each node, by id. Raises NotFoundError."""
        with self._lock:
            titles = self._titles.get(venue)
        if titles is None:
            raise NotFoundError("venue", venue)
        return titles

    def check_node(self, venue: str, node: str) -> None:
        """Raises NotFoundError unless the venue has the node."""
        if node not in self.titles(venue):
            raise NotFoundError("node", node)
