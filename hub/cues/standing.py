"""Where a cue list in hand stands: which cue is on, which follows, and when. Pure.

Cues that follow by themselves are timed takes on the boards, which need no hub for them. So their times are settled
when a person takes a cue, and where the list stands follows from that and the time.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

from schemas import Cue, CueList, TimedTake


@dataclass(frozen=True, slots=True)
class InHand:
    """A list in hand, as it was when its last cue was taken by hand. Times are show time, ms; places count from 0.

    `taken` is that cue, or the one before which the list stands, -1 before the first, where `taken_at_ms` is None.
    `follows_to` is the last cue that comes without another go.
    """

    cue_list: CueList
    taken: int = -1
    follows_to: int = -1
    taken_at_ms: int | None = None
    revision: int | None = None
    left_at_ms: int | None = None

    def times_ms(self) -> list[int]:
        """When the cue taken and those that follow it come on."""
        if self.taken_at_ms is None:
            return []
        times = [self.taken_at_ms]
        for cue in self.cue_list.cues[self.taken : self.follows_to]:
            times.append(times[-1] + round((cue.follow_on_s or 0.0) * 1_000))
        return times

    def left(self, at_ms: int) -> "InHand":
        """Something else was taken: nothing follows any more."""
        return self if self.left_at_ms is not None else replace(self, left_at_ms=at_ms)


@dataclass(frozen=True, slots=True)
class Standing:
    """`on` is the cue that is on, or was until the list was left; -1 before the first. `left`: something else is on."""

    on: int
    since_ms: int | None
    follows_at_ms: int | None
    left: bool


def standing(hand: InHand, now_ms: int) -> Standing:
    """Where the list stands at `now_ms`."""
    times = hand.times_ms()
    if not times:
        return Standing(hand.taken, None, None, hand.left_at_ms is not None)
    until_ms = now_ms if hand.left_at_ms is None else min(now_ms, hand.left_at_ms)
    followed = sum(at_ms <= until_ms for at_ms in times[1:])
    follows = hand.left_at_ms is None and followed + 1 < len(times)
    return Standing(
        on=hand.taken + followed,
        since_ms=times[followed],
        follows_at_ms=times[followed + 1] if follows else None,
        left=hand.left_at_ms is not None,
    )


def taken_by_hand(
    cue_list: CueList, place: int, at_ms: int, may_follow: Callable[[Cue], bool]
) -> tuple[InHand, tuple[TimedTake, ...]]:
    """The list with the cue at `place` taken at `at_ms`, and the timed takes of those that then follow by themselves.

    The chain ends where a cue names no time, and before a cue that may not go out unattended.
    """
    follows_to, takes, due_ms = place, list[TimedTake](), at_ms
    for cue, following in pairwise(cue_list.cues[place:]):
        if cue.follow_on_s is None or not may_follow(following):
            break
        due_ms += round(cue.follow_on_s * 1_000)
        takes.append(TimedTake(at_ms=due_ms, scene=following.scene, fade_ms=following.fade_ms))
        follows_to += 1
    return InHand(cue_list, place, follows_to, at_ms), tuple(takes)


def place_in(present: CueList, before: CueList, place: int) -> int:
    """Where the cue at `place` of the list as it was stands in the list as it now is.

    For a cue that was taken out, the one before the cue that is now in its place. -1 is before the first.
    """
    if place < 0:
        return -1
    wanted = before.cues[place].id
    for now, cue in enumerate(present.cues):
        if cue.id == wanted:
            return now
    return min(place, len(present.cues)) - 1
