"""A cue list as API, page and command line show it: where it stands, and in words what follows."""

from datetime import datetime
from zoneinfo import ZoneInfo

from pydantic import BaseModel, Field

from hub.cues.standing import InHand, place_in, standing
from schemas import Cue, CueList, Venue


class CueListView(BaseModel):
    """A cue list of the venue, and where it stands while it is in hand. Places count from 0; times are show time."""

    cue_list: CueList = Field(description="As the venue now has it.")
    in_hand: bool = Field(description="Go takes its next cue. One list a venue.")
    on: int | None = Field(description="Place of the cue that is on, or was until something else was taken.")
    on_since_ms: int | None
    next: int | None = Field(description="Place of the cue that go would take; null after the last.")
    follows_at_ms: int | None = Field(description="When the next cue is taken by itself; null where it waits for go.")
    left: bool = Field(description="Something else was taken since: back takes the cue that was on again.")
    said: str = Field(description="The same in a sentence.")


def view_of_list(venue: Venue, cue_list: CueList, hand: InHand | None, now_ms: int) -> CueListView:
    """`hand` where this list is the one in hand."""
    if hand is None:
        said = f"{named(cue_list)} is not in hand; start it, and go takes its first cue"
        return CueListView(
            cue_list=cue_list,
            in_hand=False,
            on=None,
            on_since_ms=None,
            next=0,
            follows_at_ms=None,
            left=False,
            said=said,
        )
    stands = standing(hand, now_ms)
    # The list may have been written anew since: what is on by the cue's id, what comes next by where it now is.
    at = place_in(cue_list, hand.cue_list, stands.on)
    following = at + 1 if at + 1 < len(cue_list.cues) else None
    words = [_on(venue, hand, stands.on, stands.since_ms, left=stands.left), _then(cue_list, following)]
    if stands.follows_at_ms is not None:
        follower = cue_words(hand.cue_list.cues[stands.on + 1])
        words[1] = f"{follower} follows by itself at {clock_time(venue, stands.follows_at_ms)}"
    return CueListView(
        cue_list=cue_list,
        in_hand=True,
        on=None if stands.since_ms is None else at,
        on_since_ms=stands.since_ms,
        next=following,
        follows_at_ms=stands.follows_at_ms,
        left=stands.left,
        said="; ".join(words),
    )


def named(cue_list: CueList) -> str:
    return f"cue list {cue_list.id!r}"


def cue_words(cue: Cue) -> str:
    """Such as `cue 'interval' (scene foyer-calm)`."""
    return f"cue {cue.id!r} ({'darkness' if cue.scene is None else f'scene {cue.scene}'})"


def clock_time(venue: Venue, at_ms: int) -> str:
    """Local time at the venue."""
    return datetime.fromtimestamp(at_ms / 1_000, ZoneInfo(venue.time_zone)).strftime("%H:%M:%S")


def _on(venue: Venue, hand: InHand, on: int, since_ms: int | None, *, left: bool) -> str:
    if since_ms is None:
        return f"{named(hand.cue_list)} is in hand"
    cue = cue_words(hand.cue_list.cues[on])
    if left:
        return f"{cue} was on until something else was taken"
    return f"{cue} is on since {clock_time(venue, since_ms)}"


def _then(cue_list: CueList, following: int | None) -> str:
    return "it is the last one" if following is None else f"go takes {cue_words(cue_list.cues[following])}"


def what_follows(hand: InHand) -> str:
    """In words, of a cue that was just taken by hand."""
    cues = hand.cue_list.cues
    parts: list[str] = []
    if hand.follows_to > hand.taken:
        parts.append(f"{cue_words(cues[hand.taken + 1])} follows by itself {cues[hand.taken].follow_on_s:g} s later")
        if hand.follows_to > hand.taken + 1:
            parts.append(f"the next ones up to {cue_words(cues[hand.follows_to])} too")
    if hand.follows_to + 1 == len(cues):
        return "; ".join(parts) or "it is the last one"
    following = cue_words(cues[hand.follows_to + 1])
    if cues[hand.follows_to].follow_on_s is None:
        parts.append(f"{'then ' if parts else ''}go takes {following}")
    else:
        parts.append(
            f"{following} does not follow by itself, since its scene has not passed the flash check: press go for it, "
            "or name in the cue who confirms that it may flash"
        )
    return "; ".join(parts)
