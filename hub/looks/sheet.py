"""One picture of many scenes: every look on a venue's zones, then the venue's own scenes."""

from typing import Final

from hub.desired import compile_bodies
from hub.looks.library import looks
from hub.looks.look import LookZones
from hub.looks.making import require_zones, scene_of
from hub.scenes.lights import VenueLights
from hub.scenes.pictures.strip import contact_sheet
from schemas.scene import Scene
from schemas.venue import Venue

INSTANTS: Final = 8
_FRONT_PX: Final = 200


def sheet_of(venue: Venue, zones: LookZones | None) -> bytes:
    """PNG, a row a scene at INSTANTS show times; looks only where `zones` are given.

    Raises InvalidError for zones that the venue has not, and for a picture that would be too large.
    """
    made: list[Scene] = []
    if zones is not None:
        require_zones(venue, zones)
        made = [scene_of(look, zones) for look in looks().values()]
    # Looks that the venue holds already are drawn once; where it changed one, both are, by ids of their own.
    own = [scene.model_copy(update={"id": f"{scene.id}-own"}) for scene in venue.scenes if scene not in made]
    lights = lights_of(venue, [*made, *own])
    return contact_sheet([(scene.title, lights, scene) for scene in lights.venue.scenes], INSTANTS, front_px=_FRONT_PX)


def lights_of(venue: Venue, scenes: list[Scene]) -> VenueLights:
    """The lights of a venue that has these scenes, and no others."""
    with_them = venue.model_copy(update={"scenes": tuple(scenes), "opening_scene": None})
    return VenueLights(with_them, compile_bodies(with_them, None, telemetry_interval_s=60.0))
