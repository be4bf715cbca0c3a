"""Scenes: preview, pictures, the elevation and its live frames."""

from hub.scenes.draft import lights_for
from hub.scenes.elevation import Elevation, elevation_of
from hub.scenes.frames import LiveFrames
from hub.scenes.lights import VenueLights
from hub.scenes.preview import ScenePreview, preview_draft, preview_scene
from hub.scenes.sampling import ScenePeaks, SupplyPeak, sample_scene
from hub.scenes.service import SceneService

__all__ = [
    "Elevation",
    "LiveFrames",
    "ScenePeaks",
    "ScenePreview",
    "SceneService",
    "SupplyPeak",
    "VenueLights",
    "elevation_of",
    "lights_for",
    "preview_draft",
    "preview_scene",
    "sample_scene",
]
