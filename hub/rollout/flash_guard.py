"""Scenes that fail the flash check go out only when a person confirms it by name."""

from collections.abc import Callable
from dataclasses import dataclass

from hub.errors import ConflictError, Mistake
from hub.rollout.snapshot import InForce, Prepared
from schemas import Scene, Venue


@dataclass(frozen=True, slots=True)
class FlashFound:
    """What the flash check says of a scene: in a sentence, and by how much to slow it down so that it passes."""

    fails: bool
    summary: str
    slow_down: float | None


FlashJudge = Callable[[Venue, Scene], FlashFound]
"""Checks a scene of a venue. It may take seconds, so it is never asked on the fleet loop's thread."""


class FlashUnconfirmedError(ConflictError):
    """A scene fails the flash check, and nobody confirmed that it may go out."""

    def __init__(self, scene: str, found: FlashFound) -> None:
        slower = "" if found.slow_down is None else f"multiply time_scale of its layers by {found.slow_down:g}, or "
        remedy = f"{slower}name who confirms that it may flash, with people warned and someone at hand to stop it"
        mistake = Mistake("body.flash_confirmed_by", f"scene {scene!r} {found.summary}", remedy)
        super().__init__(
            f"scene {scene!r} fails the flash check and nobody confirmed it; nothing was changed", [mistake]
        )
        self.reason = f"scene {scene!r} {found.summary}; it does not go out by itself: {remedy}, and take it"


class FlashGuard:
    """Who answers for a rollout's flashes: a name, or None where nobody needs to."""

    def __init__(self, judge: FlashJudge) -> None:
        self._judge = judge

    def confirmed(self, venue: Venue, scene_id: str | None, by: str | None) -> str | None:
        """Of a scene that a person takes. Raises FlashUnconfirmedError where a name is needed and none is given."""
        scene = _scene_of(venue, scene_id)
        if scene is None:
            return None
        found = self._judge(venue, scene)
        if not found.fails:
            return None
        if by is None:
            raise FlashUnconfirmedError(scene.id, found)
        return by

    def all_confirmed(self, prepared: Prepared, by: str | None) -> str | None:
        """The same of every scene that is chosen in it, whichever node shows it."""
        names = [self.confirmed(prepared.venue, scene, by) for scene in _chosen(prepared)]
        return next((name for name in names if name is not None), None)

    def carried_on(self, prepared: Prepared, in_force: InForce | None) -> str | None:
        """Of what goes out by itself: after a change of the venue, or when it is loaded.

        A scene that fails goes out only where it is in force already, layer for layer, and was confirmed, or fails
        there too: then nothing gets worse. Raises FlashUnconfirmedError otherwise.
        """
        names = [self._carried_on(prepared.venue, scene, in_force) for scene in _chosen(prepared)]
        return next((name for name in names if name is not None), None)

    def _carried_on(self, venue: Venue, scene_id: str | None, in_force: InForce | None) -> str | None:
        scene = _scene_of(venue, scene_id)
        before = None
        if in_force is not None and scene_id in _chosen(in_force.prepared):
            before = _scene_of(in_force.prepared.venue, scene_id)
        same = scene is not None and before is not None and scene.layers == before.layers
        if in_force is not None and in_force.flash_confirmed_by is not None and same:
            return self.confirmed(venue, scene_id, in_force.flash_confirmed_by)
        try:
            return self.confirmed(venue, scene_id, None)
        except FlashUnconfirmedError:
            if in_force is None or before is None or not same:
                raise
            if not self._judge(in_force.prepared.venue, before).fails:
                raise
            return None


def _scene_of(venue: Venue, scene_id: str | None) -> Scene | None:
    return next((scene for scene in venue.scenes if scene.id == scene_id), None)


def _chosen(prepared: Prepared) -> list[str | None]:
    choices = prepared.choices
    return list(dict.fromkeys(chosen.scene for chosen in (choices.common, *choices.apart.values())))
