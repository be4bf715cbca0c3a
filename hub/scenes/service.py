"""Scenes of a venue: the elevation they are drawn on, live frames, previews."""

from collections.abc import Sequence

from hub.rollout import RolloutService, VenueSource
from hub.scenes.elevation import Elevation, elevation_of
from hub.scenes.frames import LiveFrames, Viewer
from hub.scenes.preview import ScenePreview, preview_scene
from schemas import Venue


class SceneService:
    """Asked from any thread."""

    def __init__(self, inventory: VenueSource, rollouts: RolloutService) -> None:
        self._inventory = inventory
        self._rollouts = rollouts
        self._frames = LiveFrames(inventory, rollouts)
        self._drawn: dict[str, tuple[Venue, Elevation]] = {}

    def elevation(self, venue: str) -> Elevation:
        """Of the venue in force, which the live frames show; of the inventory where nothing is. NotFoundError."""
        present = self._inventory.venue(venue)
        in_force = self._rollouts.in_force(venue)
        shown = present if in_force is None else in_force.prepared.venue
        drawn = self._drawn.get(venue)
        if drawn is None or drawn[0] is not shown:
            drawn = self._drawn[venue] = (shown, elevation_of(shown))
        return drawn[1]

    def watch(self, venue: str, rate_hz: float) -> Viewer:
        """See `LiveFrames.watch`."""
        return self._frames.watch(venue, rate_hz)

    def leave(self, viewer: Viewer) -> None:
        self._frames.leave(viewer)

    def watched(self, venue: str) -> bool:
        """Whether anyone follows the venue's frames: only then are they rendered."""
        return self._frames.watched(venue)

    def preview(self, venue: str, scene: str, instants_s: Sequence[float]) -> ScenePreview:
        """Raises NotFoundError for venue or scene."""
        return preview_scene(self._inventory.venue(venue), scene, instants_s)

    def close(self) -> None:
        """End every stream of frames; waits for nothing."""
        self._frames.close()

    def stop(self) -> None:
        """`close`, and wait for the renderers."""
        self._frames.stop()
