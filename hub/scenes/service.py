"""Scenes of a venue: the elevation they are drawn on, live frames, previews, pictures."""

import time
from collections.abc import Sequence

from hub.rollout import RolloutService, VenueSource
from hub.scenes.draft import lights_for, scene_named
from hub.scenes.draft_frames import DraftFrames, DraftStream
from hub.scenes.elevation import Elevation, elevation_of
from hub.scenes.frames import LiveFrames, Viewer
from hub.scenes.lights import VenueLights
from hub.scenes.pictures.animation import Format
from hub.scenes.pictures.making import PictureMaker
from hub.scenes.preview import ScenePreview, preview_draft
from hub.scenes.showing import Showing, showing
from schemas import Scene, Venue


class SceneService:
    """Asked from any thread. A scene is the id of one of the venue's, or a draft that the venue need not hold.

    What takes a scene raises NotFoundError for its id or the venue's, and InvalidError for a draft that does not fit.
    """

    def __init__(self, inventory: VenueSource, rollouts: RolloutService) -> None:
        self._inventory = inventory
        self._rollouts = rollouts
        self._frames = LiveFrames(inventory, rollouts)
        self._drafts = DraftFrames(self._fits)
        self._pictures = PictureMaker()
        self._drawn: dict[str, tuple[Venue, Elevation]] = {}

    def elevation(self, venue: str) -> Elevation:
        """Of the venue in force, which the live frames show; of the inventory where nothing is. NotFoundError."""
        shown = self._shown(venue)
        drawn = self._drawn.get(venue)
        if drawn is None or drawn[0] is not shown:
            drawn = self._drawn[venue] = (shown, elevation_of(shown))
        return drawn[1]

    def showing(self, venue: str) -> Showing:
        """What the nodes are to show now. Raises NotFoundError."""
        self._inventory.venue(venue)
        return showing(self._rollouts, venue, time.time())

    def watch(self, venue: str, rate_hz: float) -> Viewer:
        """See `LiveFrames.watch`."""
        return self._frames.watch(venue, rate_hz)

    def leave(self, viewer: Viewer) -> None:
        self._frames.leave(viewer)

    def watched(self, venue: str) -> bool:
        """Whether anyone follows the venue's frames: only then are they rendered."""
        return self._frames.watched(venue)

    def draft_lights(self, venue: str, scene: Scene) -> VenueLights:
        """For `watch_draft`: its frames fit the elevation, so the draft must fit the venue that this is of."""
        return lights_for(self._shown(venue), scene)

    def watch_draft(self, lights: VenueLights, scene: Scene, rate_hz: float) -> DraftStream:
        """See `DraftFrames.watch`."""
        return self._drafts.watch(lights, scene, rate_hz)

    def leave_draft(self, stream: DraftStream) -> None:
        self._drafts.leave(stream)

    def preview(self, venue: str, scene: str | Scene, instants_s: Sequence[float]) -> ScenePreview:
        return preview_draft(*self._chosen(venue, scene), instants_s)

    def strip(self, venue: str, scene: str | Scene, *, width_px: int, instants: int) -> bytes:
        """See `PictureMaker`."""
        return self._pictures.strip(*self._chosen(venue, scene), width_px=width_px, instants=instants)

    def animation(
        self, venue: str, scene: str | Scene, kind: Format, *, width_px: int, longest_s: float | None, rate_hz: float
    ) -> bytes:
        """See `PictureMaker`."""
        return self._pictures.animation(
            *self._chosen(venue, scene), kind, width_px=width_px, longest_s=longest_s, rate_hz=rate_hz
        )

    def close(self) -> None:
        """End every stream of frames; waits for nothing."""
        self._drafts.close()
        self._frames.close()

    def stop(self) -> None:
        """`close`, and wait for the renderers."""
        self._drafts.close()
        self._frames.stop()

    def _chosen(self, venue: str, scene: str | Scene) -> tuple[Venue, Scene]:
        present = self._inventory.venue(venue)
        return present, scene_named(present, scene) if isinstance(scene, str) else scene

    def _shown(self, venue: str) -> Venue:
        """The venue in force; the inventory's where nothing is."""
        present = self._inventory.venue(venue)
        in_force = self._rollouts.in_force(venue)
        return present if in_force is None else in_force.prepared.venue

    def _fits(self, lights: VenueLights) -> bool:
        shown, own = self._shown(lights.venue.id), lights.venue
        return shown.zones == own.zones and [node.id for node in shown.nodes] == [node.id for node in own.nodes]
