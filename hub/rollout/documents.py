"""What a venue's nodes are sent: their desired documents, retained, and the take of all."""

from collections.abc import Iterable

from hub.desired import desired_payload
from hub.fleet.loop import FleetLoop
from hub.rollout.models import Rollout
from hub.rollout.snapshot import Prepared
from schemas import Leaf, Take, TakeTime, node_topic, take_topic


class Documents:
    """Publishes for one venue, on the fleet loop's thread."""

    def __init__(self, venue: str, fleet: FleetLoop) -> None:
        self._venue = venue
        self._fleet = fleet

    def publish(self, node: str, revision: int, prepared: Prepared, take: TakeTime | None) -> None:
        """The node's document; without `take` it is only to be staged."""
        payload = self.payload(node, revision, prepared, take)
        self._fleet.publish(node_topic(self._venue, node, Leaf.DESIRED), payload, retain=True)

    def payload(self, node: str, revision: int, prepared: Prepared, take: TakeTime | None) -> bytes:
        return desired_payload(self._venue, node, revision, prepared.documents[node], take)

    def publish_take(self, row: Rollout) -> None:
        """To whoever holds the revision: of several batches those that were staged, since the others have it not."""
        if row.take_at_ms is not None:
            take = Take(revision=row.revision, at_ms=row.take_at_ms, fade_ms=row.fade_ms)
            self._fleet.publish(take_topic(self._venue), take.model_dump_json().encode(), retain=False)

    def clear(self, nodes: Iterable[str]) -> None:
        """Take the documents of these nodes off the broker."""
        for node in nodes:
            self._fleet.publish(node_topic(self._venue, node, Leaf.DESIRED), b"", retain=True)
