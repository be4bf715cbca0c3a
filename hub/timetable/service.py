"""The timetable of each venue: read and replaced; why a scene is on; a month; an iCalendar file."""

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from hub.api.etag import Precondition, etag_of
from hub.errors import InvalidError
from hub.inventory.service import InventoryService
from hub.rollout import RolloutService
from hub.timetable.moments import Moments
from hub.timetable.month import month_of
from hub.timetable.view import CalendarMonth, Timetable, Why
from hub.timetable.why import explain
from schemas import Venue

_ENTRY: Final = "timetable["


class TimetableService:
    """Asked from any thread but the fleet loop's. Every method raises NotFoundError for a venue that is not there."""

    def __init__(
        self,
        inventory: InventoryService,
        rollouts: RolloutService,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self._inventory = inventory
        self._rollouts = rollouts
        self._clock = clock

    def timetable(self, venue: str) -> Timetable:
        return _timetable_of(self._inventory.venue(venue))

    def put(self, venue: str, timetable: Timetable, precondition: Precondition) -> None:
        """Put a timetable in the place of the one before; boards get the new takes with the rollout that follows.

        Raises StaleError where the precondition does not hold, and InvalidError, its fields named as they were sent,
        where the venue would have mistakes.
        """

        def rewrite(current: Venue) -> Venue:
            precondition.check(etag_of(_timetable_of(current)))
            return current.model_copy(update={"timetable": timetable.entries})

        try:
            self._inventory.change(venue, rewrite)
        except InvalidError as error:
            mistakes = [
                replace(one, field=f"body.entries[{one.field.removeprefix(_ENTRY)}")
                if one.field.startswith(_ENTRY)
                else one
                for one in error.mistakes
            ]
            raise InvalidError(error.detail, mistakes) from error

    def why(self, venue: str, at_ms: int | None) -> Why:
        """Why a scene is on at a show time, now where none is given. Raises as `explain` does."""
        present = self._inventory.venue(venue)
        in_force = self._rollouts.in_force(venue)
        choices = None if in_force is None else in_force.prepared.choices
        follow_ons = () if in_force is None else in_force.prepared.kept.follow_ons
        at_ms = self._now_ms() if at_ms is None else at_ms
        return explain(present, at_ms, choices, self._rollouts.left_out(venue), follow_ons)

    def month(self, venue: str, month: str | None) -> CalendarMonth:
        """The calendar of a month, YYYY-MM, the present one where none is given. Raises as `month_of` does."""
        present = self._inventory.venue(venue)
        if month is None:
            month = f"{Moments(present).local(self._now_ms()):%Y-%m}"
        year, number = month.split("-")
        return month_of(present, int(year), int(number), self._rollouts.left_out(venue))

    def calendar(self, venue: str, days: int) -> bytes:
        """What is on in the coming days, as an iCalendar file. Raises as `calendar_of` does."""
        from hub.timetable.icalendar_export import calendar_of  # not at the top: its library takes a tenth of a second

        present = self._inventory.venue(venue)
        return calendar_of(present, self._now_ms(), days, self._rollouts.left_out(venue))

    def _now_ms(self) -> int:
        return round(self._clock() * 1_000)


def _timetable_of(venue: Venue) -> Timetable:
    return Timetable(entries=venue.timetable)
