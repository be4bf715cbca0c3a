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

    def confirmed(self, prepared: Prepared, by: str | None) -> str | None:
        """Of what a person rolls out. Raises FlashUnconfirmedError where a name is needed and none is given."""
        scene = _scene_of(prepared)
        if scene is None:
            return None
        found = self._judge(prepared.venue, scene)
        if not found.fails:
            return None
        if by is None:
            raise FlashUnconfirmedError(scene.id, found)
        return by

    def carried_on(self, prepared: Prepared, in_force: InForce | None) -> str | None:
        """Of what goes out by itself: after a change of the venue, or when it is loaded.

        A scene that fails goes out only where it is the one in force, layer for layer, and was confirmed, or fails
        there already: then nothing gets worse. Raises FlashUnconfirmedError otherwise.
        """
        if (
            in_force is not None
            and in_force.flash_confirmed_by is not None
            and _same_scene(prepared, in_force.prepared)
        ):
            return self.confirmed(prepared, in_force.flash_confirmed_by)
        try:
            return self.confirmed(prepared, None)
        except FlashUnconfirmedError:
            before = None if in_force is None else _scene_of(in_force.prepared)
            if in_force is None or before is None or not _same_scene(prepared, in_force.prepared):
                raise
            if not self._judge(in_force.prepared.venue, before).fails:
                raise
            return None


def _scene_of(prepared: Prepared) -> Scene | None:
    return next((scene for scene in prepared.venue.scenes if scene.id == prepared.scene), None)


def _same_scene(one: Prepared, other: Prepared) -> bool:
    first, second = _scene_of(one), _scene_of(other)
    return first is not None and second is not None and first.id == second.id and first.layers == second.layers
