"""From a look to a scene of a venue: roles become zones."""

from hub.errors import InvalidError, Mistake
from hub.looks.look import ROLES, Look, LookZones
from hub.venue_file.fault import Unreadable
from hub.venue_file.index import VenueIndex
from schemas.scene import Layer, Scene
from schemas.venue import Venue


def scene_of(look: Look, zones: LookZones, *, scene_id: str | None = None, title: str | None = None) -> Scene:
    """The look over these zones, as a scene; its id and title are the look's unless given."""
    layers = tuple(
        Layer.model_validate({**dict(layer), "zone": zone})
        for layer in look.layers
        if (zone := zones.of(layer.zone)) is not None
    )
    return Scene(id=scene_id or look.id, title=title or look.title, note=look.note, layers=layers)


def require_zones(venue: Venue, zones: LookZones) -> None:
    """Raise InvalidError unless the venue has each zone that is named."""
    index = VenueIndex.of(venue, Unreadable())
    mistakes = [
        Mistake(f"zones.{role}", f"there is no zone {zone!r}", index.remedy_for_dangling(zone, "zone"))
        for role in ROLES
        if (zone := zones.of(role)) is not None and zone not in index.zones
    ]
    if mistakes:
        raise InvalidError("the venue has no such zone", mistakes)
