"""Revisions in force, for tests of what a venue shows."""

from hub.rollout import InForce, Prepared
from hub.rollout.kept_choices import KeptChoices, KeptChosen
from hub.rollout.snapshot import Snapshot, prepare, snapshot_document
from schemas import TakeTime, Venue


def prepared(venue: Venue, kept: KeptChoices) -> Prepared:
    snapshot = Snapshot(venue=venue, telemetry_interval_s=5.0)
    return prepare(snapshot, snapshot_document(snapshot)[1], kept)


def in_force(
    venue: Venue,
    scene: str | None,
    *,
    revision: int = 1,
    at_s: float = 100.0,
    fade_s: float = 0.0,
    kept: KeptChoices | None = None,
) -> InForce:
    """Of a scene on all nodes since its take, or of any choices."""
    take = TakeTime(at_ms=round(at_s * 1_000), fade_ms=round(fade_s * 1_000))
    chosen = kept or KeptChoices(common=KeptChosen(scene=scene, since_ms=take.at_ms))
    return InForce(revision, prepared(venue, chosen), take)


class Shown:
    """What is in force and what was before, as the rollout service tells it; and the venue of an inventory."""

    def __init__(self, venue: Venue) -> None:
        self.present = venue
        self.now: InForce | None = None
        self.before: InForce | None = None
        self.batch: dict[str, InForce] = {}

    def in_force(self, venue: str) -> InForce | None:  # noqa: ARG002 there is one venue
        return self.now

    def shown_before(self, venue: str) -> InForce | None:  # noqa: ARG002
        return self.before

    def ahead(self, venue: str) -> dict[str, InForce]:  # noqa: ARG002
        return self.batch

    def venue_ids(self) -> list[str]:
        return [self.present.id]

    def venue(self, venue: str) -> Venue:  # noqa: ARG002
        return self.present
