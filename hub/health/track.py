"""Hysteresis: how long a fault has held, how long it has been gone. Pure."""

from dataclasses import dataclass
from enum import Enum
from typing import Final

from hub.health.rule import GONE, UNKNOWN, Fault, Hysteresis, Outcome


class Turn(Enum):
    """What a step decided."""

    NONE = "none"
    OPENS = "opens"
    ENDS = "ends"


@dataclass(frozen=True, slots=True)
class Track:
    """One possible finding over time. `finding_id` is set while it is open."""

    finding_id: int | None = None
    bad_since_s: float | None = None
    good_since_s: float | None = None


REST: Final = Track()


def step(track: Track, outcome: Outcome, now_s: float, hysteresis: Hysteresis) -> tuple[Track, Turn]:
    """The track after an outcome, and whether a finding opens or ends by it. The caller gives an opened one its id."""
    if track.finding_id is None:
        if not isinstance(outcome, Fault):
            return REST, Turn.NONE
        since_s = now_s if track.bad_since_s is None else track.bad_since_s
        turn = Turn.OPENS if now_s - since_s >= hysteresis.opens_after_s else Turn.NONE
        return Track(bad_since_s=since_s), turn
    if outcome is UNKNOWN:
        return track, Turn.NONE
    if outcome is GONE:
        return track, Turn.ENDS
    if isinstance(outcome, Fault):
        return track if track.good_since_s is None else Track(track.finding_id, track.bad_since_s), Turn.NONE
    good_since_s = now_s if track.good_since_s is None else track.good_since_s
    turn = Turn.ENDS if now_s - good_since_s >= hysteresis.ends_after_s else Turn.NONE
    return Track(track.finding_id, track.bad_since_s, good_since_s), turn
