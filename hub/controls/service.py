"""Go, back, blackout, work light: one press each, at once, always within budget."""

import time
from collections.abc import Callable
from typing import Final, Protocol

from hub.controls.answer import DARK_CAUTION, WORK_LIGHT_CAUTION, ControlAnswer
from hub.cues import CueService
from hub.cues.service import CueRollouts
from hub.cues.view import clock_time
from hub.desired.work_light import WORK_LIGHT
from hub.rollout import Prepared, RolloutView, VenueSource

WORK_LIGHT_FADE_MS: Final = 500
"""Soft on eyes that are used to the dark, and soon enough for a stumble."""


class ControlRollouts(CueRollouts, Protocol):
    """What the controls need of the rollout service."""

    def back(self, venue: str, *, requested_by: str | None = None) -> RolloutView: ...

    def being_rolled_out(self, venue: str) -> Prepared | None: ...

    def follow_timetable(self, venue: str, *, requested_by: str | None = None) -> RolloutView: ...


class ControlService:
    """From any thread but the fleet loop's. `person` is who pressed, where that is known."""

    def __init__(
        self,
        inventory: VenueSource,
        rollouts: ControlRollouts,
        cues: CueService,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self._inventory = inventory
        self._rollouts = rollouts
        self._cues = cues
        self._clock = clock

    def go(self, venue: str, person: str | None) -> ControlAnswer:
        """The next cue of the list in hand. Raises as `CueService.go`."""
        taken = self._cues.go(venue, person)
        return ControlAnswer(said=taken.said, caution=_caution(taken.rollout), rollout=taken.rollout)

    def back(self, venue: str, person: str | None) -> ControlAnswer:
        """The cue before while a list is in hand; what was taken before otherwise. Raises as `RolloutService.back`."""
        taken = self._cues.back(venue, person)
        if taken is not None:
            return ControlAnswer(said=taken.said, caution=_caution(taken.rollout), rollout=taken.rollout)
        rollout = self._rollouts.back(venue, requested_by=person)
        self._cues.left(venue)
        said = f"back to {_scene(rollout)}, which was taken before; {self._holds(venue)}"
        return ControlAnswer(said=said, caution=_caution(rollout), rollout=rollout)

    def blackout(self, venue: str, person: str | None) -> ControlAnswer:
        """Darkness everywhere, without a fade. Raises UnavailableError where the hub has no broker."""
        rollout = self._rollouts.at_once(venue, None, 0, requested_by=person)
        self._cues.left(venue)
        said = f"blackout: every pixel goes dark; {self._holds(venue)}"
        return ControlAnswer(said=said, caution=DARK_CAUTION, rollout=rollout)

    def work_light(self, venue: str, person: str | None) -> ControlAnswer:
        """Plain white everywhere. Raises as `blackout`."""
        rollout = self._rollouts.at_once(venue, WORK_LIGHT, WORK_LIGHT_FADE_MS, requested_by=person)
        self._cues.left(venue)
        said = f"work light on every board, within the budget of every supply; {self._holds(venue)}"
        return ControlAnswer(said=said, caution=WORK_LIGHT_CAUTION, rollout=rollout)

    def follow_timetable(self, venue: str, person: str | None) -> ControlAnswer:
        """What the timetable has on now. Raises ConflictError where the venue has none."""
        rollout = self._rollouts.follow_timetable(venue, requested_by=person)
        self._cues.left(venue)
        said = f"the timetable's own again: {_scene(rollout)}; {self._holds(venue)}"
        return ControlAnswer(said=said, caution=_caution(rollout), rollout=rollout)

    def _holds(self, venue: str) -> str:
        """Until when a take by hand holds."""
        in_force = self._rollouts.in_force(venue)
        prepared = self._rollouts.being_rolled_out(venue) or (None if in_force is None else in_force.prepared)
        now_ms = self._clock() * 1_000
        later = () if prepared is None else (take for take in prepared.choices.timetable if take.at_ms > now_ms)
        following = next(iter(later), None)
        if following is None:
            return "it holds until something else is taken"
        scene = "darkness" if following.scene is None else f"scene {following.scene}"
        at = clock_time(self._inventory.venue(venue), following.at_ms)
        return f"it holds until {at}, when the timetable takes {scene}"


def _scene(rollout: RolloutView) -> str:
    return "darkness" if rollout.scene is None else f"scene {rollout.scene}"


def _caution(rollout: RolloutView) -> str | None:
    return DARK_CAUTION if rollout.scene is None else None
