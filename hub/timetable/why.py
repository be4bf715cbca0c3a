"""Why a scene is on, and what is next: the timetable, who holds over it, and what boards were given. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from hub.desired import Choices, Chosen
from hub.timetable.compile import DAY_MS, changes_since
from hub.timetable.moments import MAX_MS, Moments
from hub.timetable.spells import Change, Occurrence, occurrences
from hub.timetable.view import Apart, LeftOut, Next, Source, Why
from hub.timetable.wording import Words, in_words, wins_because
from schemas import TimedTake, Venue

_LOOK_AHEAD_DAYS: Final = (8, 40, 400)


@dataclass(frozen=True, slots=True)
class _On:
    """What is on, what brought it and since when."""

    scene: str | None
    source: Source
    since_ms: int | None


def explain(
    venue: Venue,
    at_ms: int,
    choices: Choices | None = None,
    left_out: Mapping[str, str] | None = None,
    follow_ons: Sequence[TimedTake] = (),
) -> Why:
    """Why a scene is on at an instant, as `choices` of what is in force and the venue's timetable have it.

    `left_out` are entries that count as absent, each with the reason; `follow_ons` those of the timed takes that are
    cues following by themselves. Raises InvalidError for a time outside of the years that `hub.timetable.sun` knows.
    """
    return _Explanation(venue, at_ms, choices, left_out or {}, follow_ons).why()


class _Explanation:
    def __init__(
        self,
        venue: Venue,
        at_ms: int,
        choices: Choices | None,
        left_out: Mapping[str, str],
        follow_ons: Sequence[TimedTake],
    ) -> None:
        self._venue, self._at_ms, self._choices = venue, at_ms, choices
        self._followed = max((take for take in follow_ons if take.at_ms <= at_ms), key=_time_of, default=None)
        self._following = min((take for take in follow_ons if take.at_ms > at_ms), key=_time_of, default=None)
        self._left_out = {entry.id: left_out[entry.id] for entry in venue.timetable if entry.id in left_out}
        self._moments = Moments(venue)
        self._words = Words(venue, self._moments)
        self._day = self._moments.day(at_ms)
        changes = self._changes()
        self._change = changes[0] if changes and changes[0].at_ms <= at_ms else None
        self._later = next((change for change in changes if change.at_ms > at_ms), None)
        self._after = next((change for change in changes if self._later and change.at_ms > self._later.at_ms), None)

    def why(self) -> Why:
        on = self._on()
        over = self._over()
        coming = self._next()
        apart = self._apart()
        sun = self._words.sun(self._day)
        held_takes = () if self._choices is None else self._choices.timetable
        hold_until = self._words.moment(held_takes[-1].at_ms) if held_takes else None
        left_out = [LeftOut(entry=entry, reason=reason) for entry, reason in self._left_out.items()]
        winner = None if self._change is None else self._change.on
        since_ms = on.since_ms if on.source != "hold" or self._opened_ms is None else self._opened_ms
        told = [
            *self._on_told(on),
            *self._timetable_told(on),
            *self._boards_told(on),
            *(f"{one.entry.id} covers this time, too: {wins_because(winner, one)}." for one in over if winner),
            "Nothing follows within a year." if coming is None else coming.told,
            *(f"Node {one.node} shows {in_words(one.scene)}, which a person took for it." for one in apart),
            *([] if hold_until is None else [f"Boards hold takes up to {self._words.clock(hold_until.at_ms)}."]),
            *(f"{one.entry} is left out: {one.reason}." for one in left_out),
            *([] if sun is None else [f"Sun on {self._day}: {sun.told}."]),
        ]
        return Why(
            at=self._words.moment(self._at_ms),
            time_zone=self._venue.time_zone,
            scene=on.scene,
            scene_title=self._words.scene_title(on.scene),
            source=on.source,
            since=self._words.moment(since_ms) if since_ms else None,
            timetable_says=None if winner is None else self._words.spell(winner, self._change, self._later),
            over=[self._words.spell(one) for one in over],
            next=coming,
            apart=apart,
            boards_hold_until=hold_until,
            left_out=left_out,
            sun=sun,
            told=told,
        )

    def _changes(self) -> list[Change]:
        changes: list[Change] = []
        for days in _LOOK_AHEAD_DAYS:
            until_ms = min(MAX_MS - 1, self._at_ms + days * DAY_MS)
            changes = changes_since(self._venue, frozenset(self._left_out), self._moments, self._at_ms, until_ms)
            if any(change.at_ms > self._at_ms for change in changes):
                break
        return changes

    def _on(self) -> _On:
        """The latest of what the timetable changed, what a person took and what followed on by itself."""
        found = [_On(None, "nothing", None)]
        if self._change is not None:
            found.append(_On(_scene_of(self._change.on), "timetable", self._change.at_ms))
        if self._followed is not None:
            found.append(_On(self._followed.scene, "follow-on", self._followed.at_ms))
        if self._choices is not None and self._choices.common.since_ms <= self._at_ms:
            found.append(_On(self._choices.common.scene, "hold", self._choices.common.since_ms))
        # Of two at the same instant what a person took stands, as on boards (`schemas.shown_at`).
        return max(reversed(found), key=lambda one: -1 if one.since_ms is None else one.since_ms)

    @property
    def _opened_ms(self) -> int | None:
        """When the venue opened, where its opening scene was never followed by a choice."""
        return None if self._choices is None else self._choices.common.opened_ms

    def _over(self) -> list[Occurrence]:
        winner = None if self._change is None else self._change.on
        if winner is None:
            return []
        at_ms = self._at_ms
        found = occurrences(self._venue.timetable, frozenset(self._left_out), self._moments, at_ms, at_ms)
        over = [one for one in found if one.begins_ms <= at_ms < one.ends_ms and one.precedence != winner.precedence]
        return sorted(over, key=lambda one: one.precedence, reverse=True)

    def _next(self) -> Next | None:
        follow_on, later = self._following, self._later
        if follow_on is not None and (later is None or follow_on.at_ms <= later.at_ms):
            told = f"Next, {self._words.clock(follow_on.at_ms)}: a cue follows by itself, {in_words(follow_on.scene)}."
            return self._next_at(follow_on.at_ms, follow_on.scene, None, told)
        if later is None:
            return None
        when = f"Next, {self._words.clock(later.at_ms)}"
        if later.on is None:
            ended = "" if later.before is None else f", as {later.before.entry.id} ends ({later.before.entry.ends})"
            return self._next_at(later.at_ms, None, None, f"{when}: darkness{ended}.")
        spell = self._words.spell(later.on, later, self._after)
        told = f"{when}: {later.on.entry.id}, {in_words(spell.scene)} ({spell.begins_as}; {spell.because})."
        return self._next_at(later.at_ms, spell.scene, later.on.entry.id, told)

    def _next_at(self, at_ms: int, scene: str | None, entry: str | None, told: str) -> Next:
        return Next(
            at=self._words.moment(at_ms),
            scene=scene,
            scene_title=self._words.scene_title(scene),
            entry=entry,
            told=told,
        )

    def _apart(self) -> list[Apart]:
        changed_ms = max((one.at_ms for one in (self._change, self._followed) if one is not None), default=0)
        chosen: Mapping[str, Chosen] = {} if self._choices is None else self._choices.apart
        return [
            Apart(node=node, scene=one.scene, since=self._words.moment(one.since_ms))
            for node, one in chosen.items()
            if changed_ms <= one.since_ms <= self._at_ms
        ]

    def _on_told(self, on: _On) -> list[str]:
        if on.source == "timetable":
            return []  # what the timetable says tells it
        if on.since_ms is None:
            return ["Nothing is on: the timetable had nothing in the year before, and nobody took a scene."]
        if on.source == "hold" and self._opened_ms is not None:
            return [
                _sentence(f"{in_words(on.scene)} is the opening scene; it holds until the timetable has something on")
            ]
        what, when = in_words(on.scene), self._words.clock(on.since_ms)
        if on.source == "follow-on":
            return [f"A cue followed by itself {when}: {what}."]
        how = f"was taken by hand {when}" if on.since_ms else "was there from the beginning"
        return [_sentence(f"{what} {how}; it holds until the next timed take")]

    def _timetable_told(self, on: _On) -> list[str]:
        if self._change is None:
            return []
        held_over = "" if on.source == "timetable" else "By the timetable, "
        if self._change.on is None:
            ended = "" if self._change.before is None else f" since {self._change.before.entry.id} ended"
            return [_sentence(f"{held_over}{in_words(None)}{ended}, {self._words.clock(self._change.at_ms)}")]
        spell = self._words.spell(self._change.on, self._change, self._later)
        return [
            f"{held_over}{spell.entry}, {in_words(spell.scene)}, from {self._words.clock(spell.begins.at_ms)} "
            f"({spell.begins_as}) to {self._words.clock(spell.ends.at_ms)} ({spell.ends_as}): {spell.because}."
        ]

    def _boards_told(self, on: _On) -> list[str]:
        """That boards go by another timetable than this: the rollout that brings it was not taken, or not yet."""
        if self._choices is None or not self._choices.timetable or self._at_ms > self._choices.timetable[-1].at_ms:
            return []
        last = max((take for take in self._choices.timetable if take.at_ms <= self._at_ms), key=_time_of, default=None)
        chosen = self._choices.common
        shown = chosen.scene if last is None or last.at_ms <= chosen.since_ms else last.scene
        if shown == on.scene:
            return []
        return [
            f"Boards go by another timetable still and show {in_words(shown)}, until a rollout brings them this one."
        ]


def _time_of(take: TimedTake) -> int:
    return take.at_ms


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def _scene_of(occurrence: Occurrence | None) -> str | None:
    return None if occurrence is None else occurrence.entry.scene
