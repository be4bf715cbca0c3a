"""Running an evening by a cue list: taking it in hand, go, back, and what follows by itself."""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Protocol

from sqlalchemy import Engine

from hub.cues.standing import InHand, place_in, standing, taken_by_hand
from hub.cues.store import CueStore
from hub.cues.view import CueListView, cue_words, named, view_of_list, what_follows
from hub.desired.work_light import WORK_LIGHT, has_own_work_light
from hub.errors import ConflictError, NotFoundError
from hub.rollout import InForce, RolloutView, VenueSource
from hub.scenes.flash.report import FlashReports, FlashVerdict
from schemas import Cue, CueList, TimedTake, Venue

LEAD_MS: Final = 1_000
"""From a person's go to the light, as a rule. What follows by itself is counted from there, before the take is
decided: those times are part of what boards are given to stage."""


class CueRollouts(Protocol):
    """What cue lists need of the rollout service."""

    def at_once(
        self,
        venue: str,
        scene: str | None,
        fade_ms: int,
        *,
        timetable_extra: tuple[TimedTake, ...] = (),
        flash_confirmed_by: str | None = None,
        requested_by: str | None = None,
    ) -> RolloutView: ...

    def in_force(self, venue: str) -> InForce | None: ...

    def under_way(self, venue: str) -> RolloutView | None: ...


class KnownFlashes(Protocol):
    """What is known of the flashes of a venue's scenes, at once."""

    def known(self, venue: str) -> FlashReports: ...


@dataclass(frozen=True, slots=True)
class CueTaken:
    """A cue was taken by hand; `said` tells which, and what follows."""

    rollout: RolloutView
    said: str


class CueService:
    """From any thread but the fleet loop's. One list in hand a venue."""

    def __init__(
        self,
        engine: Engine,
        inventory: VenueSource,
        rollouts: CueRollouts,
        flashes: KnownFlashes,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self._store = CueStore(engine)
        self._inventory = inventory
        self._rollouts = rollouts
        self._flashes = flashes
        self._clock = clock
        self._lock = threading.Lock()  # two presses at the same time are two cues, one after the other

    def lists(self, venue: str) -> list[CueListView]:
        """Every list of the venue, in its order. Raises NotFoundError."""
        present = self._inventory.venue(venue)
        hand = self._in_hand(venue)
        return [self._view(present, one, hand) for one in present.cue_lists]

    def start(self, venue: str, cue_list: str, cue: str | None = None) -> CueListView:
        """Take a list in hand, standing before its first cue, or before the cue named; nothing is taken yet.

        What followed by itself of a list in hand before no longer does. Raises NotFoundError.
        """
        with self._lock:
            present = self._inventory.venue(venue)
            wanted = _list_of(present, cue_list)
            places = {one.id: place for place, one in enumerate(wanted.cues)}
            if cue is not None and cue not in places:
                raise NotFoundError("cue", cue)
            self._let_go(venue)
            hand = InHand(wanted, taken=(places[cue] if cue is not None else 0) - 1)
            self._store.save(venue, hand)
        return self._view(present, wanted, hand)

    def stop(self, venue: str, cue_list: str) -> CueListView:
        """Put a list down: what it shows stays, and nothing follows. Raises ConflictError where it is not in hand."""
        with self._lock:
            present = self._inventory.venue(venue)
            wanted = _list_of(present, cue_list)
            hand = self._in_hand(venue)
            if hand is None or hand.cue_list.id != cue_list:
                raise ConflictError(f"{named(wanted)} is not in hand; nothing was changed")
            self._let_go(venue)
        return self._view(present, wanted, None)

    def go(self, venue: str, person: str | None) -> CueTaken:
        """Take the next cue of the list in hand; the first of the first list where none is.

        Raises ConflictError after the last cue and in a venue without lists, and what `RolloutService.at_once` raises.
        """
        with self._lock:
            present = self._inventory.venue(venue)
            hand = self._in_hand(venue)
            if hand is None:
                if not present.cue_lists:
                    raise ConflictError("the venue has no cue list; write one, or take a scene by its name")
                hand = InHand(present.cue_lists[0])
            wanted = _list_of(present, hand.cue_list.id)
            place = place_in(wanted, hand.cue_list, standing(hand, self._now_ms()).on) + 1
            if place >= len(wanted.cues):
                raise ConflictError(f"{named(wanted)} is at its end; start it again, or another")
            return self._take(present, wanted, place, person)

    def back(self, venue: str, person: str | None) -> CueTaken | None:
        """Take the cue before the one that is on, or that one again where something else was taken since.

        None where no list is in hand, or none of its cues came before: then what was taken before is not of this list.
        """
        with self._lock:
            present = self._inventory.venue(venue)
            hand = self._in_hand(venue)
            if hand is None or hand.taken_at_ms is None:
                return None
            stands = standing(hand, self._now_ms())
            wanted = _list_of(present, hand.cue_list.id)
            place = place_in(wanted, hand.cue_list, stands.on) - (0 if stands.left else 1)
            if place >= 0:
                return self._take(present, wanted, place, person)
            self._store.save(venue, InHand(wanted))
            return None

    def left(self, venue: str) -> None:
        """Something else was taken: the list stays in hand where it was, and nothing of it follows."""
        with self._lock:
            hand = self._in_hand(venue)
            if hand is not None and hand.taken_at_ms is not None:
                self._store.save(venue, hand.left(self._now_ms()))

    def _take(self, present: Venue, cue_list: CueList, place: int, person: str | None) -> CueTaken:
        cue = cue_list.cues[place]
        unattended = self._unattended(present) if cue.follow_on_s is not None else frozenset[str | None]()

        def may_follow(one: Cue) -> bool:
            return one.scene in unattended or one.flash_confirmed_by is not None

        hand, follow = taken_by_hand(cue_list, place, self._now_ms() + LEAD_MS, may_follow)
        rollout = self._rollouts.at_once(
            present.id,
            cue.scene,
            cue.fade_ms,
            timetable_extra=follow,
            flash_confirmed_by=cue.flash_confirmed_by,
            requested_by=person,
        )
        hand = replace(hand, revision=rollout.revision)
        self._store.save(present.id, hand)
        said = f"{named(cue_list)}: {cue_words(cue)}; {what_follows(hand)}"
        return CueTaken(rollout, said)

    def _unattended(self, venue: Venue) -> frozenset[str | None]:
        """Scenes that are known not to flash, darkness among them."""
        known = {one.scene for one in self._flashes.known(venue.id).reports if one.verdict is not FlashVerdict.FAILS}
        built_in = () if has_own_work_light(venue) else (WORK_LIGHT,)
        return frozenset([None, *known, *built_in])

    def _let_go(self, venue: str) -> None:
        """Put down the list in hand. Boards that were given what follows get the cue that is on without it."""
        hand = self._in_hand(venue)
        if hand is None:
            return
        stands = standing(hand, self._now_ms())
        if stands.follows_at_ms is not None:
            cue = hand.cue_list.cues[stands.on]
            self._rollouts.at_once(venue, cue.scene, 0, flash_confirmed_by=cue.flash_confirmed_by)
        self._store.put_down(venue)

    def _in_hand(self, venue: str) -> InHand | None:
        hand = self._store.in_hand(venue)
        if hand is None or hand.revision is None or hand.left_at_ms is not None:
            return hand
        left_at_ms = self._left_at_ms(venue, hand, hand.revision)
        return hand if left_at_ms is None else hand.left(left_at_ms)

    def _left_at_ms(self, venue: str, hand: InHand, revision: int) -> int | None:
        """When a rollout that nobody told this service of (a plan, say) put something else in the list's place."""
        under_way, in_force = self._rollouts.under_way(venue), self._rollouts.in_force(venue)
        if in_force is None or in_force.revision < revision:
            coming = under_way is not None and under_way.revision == revision
            return None if coming else hand.taken_at_ms  # it was halted: nobody took this cue
        if in_force.revision == revision:
            return None
        kept = in_force.prepared.kept
        chosen_since = kept.common.since_ms > (hand.taken_at_ms or 0)
        pending = [at_ms for at_ms in hand.times_ms()[1:] if at_ms > in_force.take.at_ms]
        dropped = bool(pending) and pending[0] not in {take.at_ms for take in kept.follow_ons}
        return in_force.take.at_ms if chosen_since or dropped else None

    def _view(self, venue: Venue, cue_list: CueList, hand: InHand | None) -> CueListView:
        of_this = hand if hand is not None and hand.cue_list.id == cue_list.id else None
        return view_of_list(venue, cue_list, of_this, self._now_ms())

    def _now_ms(self) -> int:
        return round(self._clock() * 1_000)


def _list_of(venue: Venue, cue_list: str) -> CueList:
    for one in venue.cue_lists:
        if one.id == cue_list:
            return one
    raise NotFoundError("cue list", cue_list)
