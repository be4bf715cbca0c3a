"""What a desired body shows at an instant: the scene that was chosen, or the timed take that came since. Pure."""

from bisect import bisect_right
from dataclasses import dataclass

from schemas.desired import DesiredBody, TimedTake


@dataclass(frozen=True, slots=True)
class Shown:
    """A scene (None is darkness) and, where a timed take brought it, that take."""

    scene: str | None
    by: TimedTake | None


def shown_at(body: DesiredBody, show_ms: float) -> Shown:
    """The last timed take of the body at or before `show_ms`, if it comes after the choice of `showing`."""
    place = bisect_right(body.timetable, show_ms, key=lambda take: take.at_ms)
    last = body.timetable[place - 1] if place else None
    if last is None or last.at_ms <= body.showing_since_ms:
        return Shown(body.showing, None)
    return Shown(last.scene, last)


def next_timed_take(body: DesiredBody, show_ms: float) -> TimedTake | None:
    """The first timed take after `show_ms` that counts; None where the timetable ends before."""
    place = bisect_right(body.timetable, max(show_ms, body.showing_since_ms), key=lambda take: take.at_ms)
    return body.timetable[place] if place < len(body.timetable) else None
