"""A scene that a venue does not hold (yet), and the venue as it would be with that scene alone."""

from collections.abc import Sequence

from hub.desired import compile_bodies
from hub.errors import InvalidError, Mistake, NotFoundError
from hub.scenes.lights import VenueLights
from hub.validation import field_name
from hub.venue_file.checking import find_faults
from schemas import Scene, Venue

_OF_THE_SCENE = ("scenes", 0)


def scene_named(venue: Venue, scene: str) -> Scene:
    """Raises NotFoundError."""
    for one in venue.scenes:
        if one.id == scene:
            return one
    raise NotFoundError("scene", scene)


def lights_for(venue: Venue, scene: Scene) -> VenueLights:
    """The venue's light with `scene` as its only one, whether it is the venue's own or a draft.

    Raises InvalidError as `check_draft` does, and for zones that lie on more of a node than a document may name.
    """
    alone = alone_with(venue, scene)
    return VenueLights(alone, compile_bodies(alone, scene.id, telemetry_interval_s=60.0))


def alone_with(venue: Venue, scene: Scene) -> Venue:
    """The venue with `scene` as its only one. Raises InvalidError as `check_draft` tells."""
    alone = venue.model_copy(update={"scenes": (scene,), "opening_scene": None})
    mistakes = check_draft(alone)
    if mistakes:
        count = len(mistakes)
        raise InvalidError(f"the scene has {count} mistake{'' if count == 1 else 's'}", mistakes)
    return alone


def check_draft(alone: Venue) -> Sequence[Mistake]:
    """What is wrong with the only scene of a venue; fields are those of a body, such as `body.layers[0].zone`."""
    return [
        Mistake(field_name(("body", *fault.where[len(_OF_THE_SCENE) :])), fault.reason, fault.remedy)
        for fault in find_faults(alone)
        if fault.where[: len(_OF_THE_SCENE)] == _OF_THE_SCENE
    ]
