"""What this node holds: the revision that shows, the one that is staged, and why it refused another.

Every change goes to the store before it is told, and to the frame loop when it concerns the pixels.
"""

import logging
from dataclasses import dataclass

from node_agent.board import Board
from node_agent.clock import ShowClock
from node_agent.frames import Frames
from node_agent.inbox import Taken
from node_agent.prepared import PreparedRevision
from node_agent.rejections import Rejections
from node_agent.staging import (
    AlreadyShowing,
    AlreadyStaged,
    Holding,
    Refused,
    Staged,
    Unreadable,
    Verdict,
    prepare,
    stage,
)
from node_agent.store import Store, StoreError
from schemas import Desired, Held, Refusal, Shown, Take, TakeTime, next_timed_take

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class _Ready:
    """A revision that is held, made ready to show."""

    desired: Desired
    prepared: PreparedRevision


class Holdings:
    """One thread uses it, the agent's. `showing` and `scene` are on the pixels, the scene since `taken_at_ms`."""

    def __init__(
        self, venue: str, node: str, store: Store, board: Board, clock: ShowClock, frames: Frames, seen: Rejections
    ) -> None:
        self._venue, self._node = venue, node
        self._store = store
        self._board = board
        self._clock = clock
        self._frames = frames
        self._rejections = seen
        self._showing: _Ready | None = None
        self._waiting: _Ready | None = None
        self._scheduled: _Ready | None = None
        self._early_take: Take | None = None
        self._shown: Shown | None = None
        self.refusal: Refusal | None = None
        self.taken_at_ms: int | None = None

    @property
    def showing(self) -> Held | None:
        return _held(self._showing)

    @property
    def staged(self) -> Held | None:
        return _held(self._waiting)

    @property
    def scene(self) -> str | None:
        return self._shown.scene if self._shown else None

    @property
    def telemetry_interval_s(self) -> float | None:
        """What the showing revision asks for; None before there is one."""
        return self._showing.desired.body.telemetry_interval_s if self._showing else None

    @property
    def channels(self) -> frozenset[int]:
        """Numbers of the channels that show."""
        return frozenset(self._showing.prepared.channels if self._showing else ())

    def restore(self) -> None:
        """After a start: starts the frame loop with what the store holds, before there is any network."""
        showing, staged = self._restored(self._store.showing), self._restored(self._store.staged)
        self._showing, self._waiting = showing, staged
        if showing:
            self._shown = showing.prepared.shown(self._clock.show_s())
            self.taken_at_ms = _began_ms(showing.desired, self._shown)
        # With the showing document lost, the staged one lights the front until the hub says more; it counts as staged
        # only, so that whatever the hub holds in force can still follow.
        stand_in = showing or (staged if self._store.showing_lost else None)
        if stand_in:
            self._frames.start(stand_in.prepared, _taken_s(stand_in.desired))
            state = "shows" if showing else "shows for want of the one in force, which was damaged"
            scene = stand_in.prepared.shown(self._clock.show_s()).scene
            _log.info("revision %d, scene %s, %s", stand_in.desired.revision, scene, state)
            self._tell_used_up()
        else:
            self._frames.start()
            _log.info("holds no revision: dark until the hub sends one")
        if staged and staged.desired.take:
            self._schedule(staged, staged.desired.take)

    def receive(self, payload: bytes) -> None:
        """A message from the node's `desired` topic."""
        holding = Holding(
            self._venue,
            self._node,
            showing=self._showing.desired if self._showing else None,
            staged=self._waiting.desired if self._waiting else None,
        )
        verdict: Verdict = stage(payload, holding, self._board, self._clock.show_s())
        match verdict:
            case Staged(prepared):
                self._stage(prepared)
            case AlreadyStaged(desired):
                self.refusal = None
                if self._waiting and desired.take and desired.take != self._waiting.desired.take:
                    self._schedule(self._waiting, desired.take)
            case AlreadyShowing():
                self.refusal = None
                self._drop_staged()
            case Refused(refusal, malformed):
                if malformed:
                    ours = refusal.field if refusal.field in ("sha256", "revision") else "breaks the contract"
                    self._rejections.add(f"desired: {ours}")
                    self.refusal = refusal
                else:
                    self._refuse(refusal)
            case Unreadable(kind):
                self._rejections.add(kind)

    def take(self, take: Take) -> None:
        """The venue's take. One that comes before its document waits for it, while it lies ahead."""
        if self._waiting and take.revision == self._waiting.desired.revision:
            time = TakeTime(at_ms=take.at_ms, fade_ms=take.fade_ms)
            if time != self._waiting.desired.take:
                self._schedule(self._waiting, time)
        elif self._showing is None or take.revision > self._showing.desired.revision:
            self._early_take = take

    def taken(self, event: Taken) -> None:
        """The first frame of a take is out. One of a revision may have been called off, or followed, in that very
        moment."""
        ready = self._scheduled
        if ready and ready.desired.revision == event.revision:
            self._scheduled = None
            self._taken(ready, event)
        elif self._showing and self._showing.desired.revision == event.revision:
            self._turned(event)
        elif self._showing:
            self._frames.take(self._showing.prepared, _taken_s(self._showing.desired), 0.0)

    def _taken(self, ready: _Ready, event: Taken) -> None:
        self._showing = ready
        self._shown, self.taken_at_ms = event.shown, round(event.show_s * 1_000)
        if self._waiting and self._waiting.desired.revision == event.revision:
            self._waiting = None
        _log.info("revision %d taken: scene %s", event.revision, self.scene)
        try:
            self._store.take(self._showing.desired)
            if self._waiting:
                self._store.stage(self._waiting.desired)
        except StoreError as error:
            _log.error("revision %d shows but is not kept: %s", event.revision, error)
        self._tell_used_up()

    def _turned(self, event: Taken) -> None:
        """The revision that shows has come to another scene; after a start, to the one that was held."""
        if event.shown == self._shown:
            return
        self._shown, self.taken_at_ms = event.shown, round(event.show_s * 1_000)
        _log.info("revision %d has come to scene %s", event.revision, self.scene)
        self._tell_used_up()

    def _tell_used_up(self) -> None:
        if self._showing and self._shown and self._shown.by:
            desired = self._showing.desired
            if next_timed_take(desired.body, self._shown.by.at_ms) is None:
                _log.warning(
                    "the timetable of revision %d is used up: scene %s stays until the hub sends more",
                    desired.revision,
                    self._shown.scene,
                )

    def _restored(self, desired: Desired | None) -> _Ready | None:
        if desired is None:
            return None
        if (desired.venue, desired.node) != (self._venue, self._node):
            _log.warning("the state is of node %s/%s and is left alone", desired.venue, desired.node)
            return None
        match prepare(desired, self._board, self._clock.show_s()):
            case Staged(prepared):
                return _Ready(desired, prepared)
            case Refused(refusal):
                self._refuse(refusal)
        return None

    def _stage(self, prepared: PreparedRevision) -> None:
        desired = prepared.desired
        try:
            self._store.stage(desired)
        except StoreError as error:
            remedy = "make room on the board's disk"
            self._refuse(Refusal(revision=desired.revision, field="state", reason=str(error)[:400], remedy=remedy))
            return
        self._frames.cancel_take()
        self._waiting = _Ready(desired, prepared)
        self.refusal = None
        _log.info("revision %d staged: scene %s", desired.revision, desired.body.showing)
        early, self._early_take = self._early_take, None
        if desired.take:
            self._schedule(self._waiting, desired.take)
        elif early and early.revision == desired.revision and early.at_ms > self._clock.show_s() * 1_000:
            # One that is past was of an earlier batch: this board takes with its own.
            self._schedule(self._waiting, TakeTime(at_ms=early.at_ms, fade_ms=early.fade_ms))

    def _schedule(self, waiting: _Ready, take: TakeTime) -> None:
        """Keeps the take with the staged revision, so that it happens even if power fails before it."""
        if waiting.desired.take != take:
            desired = waiting.desired.model_copy(update={"take": take})
            try:
                self._store.stage(desired)
            except StoreError as error:
                _log.error("the take of revision %d is not kept: %s", desired.revision, error)
            self._waiting = waiting = _Ready(desired, waiting.prepared)
        self._scheduled = waiting
        self._frames.take(waiting.prepared, take.at_ms / 1_000, take.fade_ms / 1_000)

    def _drop_staged(self) -> None:
        if self._waiting is None:
            return
        self._frames.cancel_take()
        _log.info("revision %d is called off", self._waiting.desired.revision)
        self._waiting = self._scheduled = None
        try:
            self._store.drop_staged()
        except StoreError as error:
            _log.error("the revision that was called off is still on disk: %s", error)

    def _refuse(self, refusal: Refusal) -> None:
        if refusal != self.refusal:
            _log.warning("revision %d refused: %s: %s", refusal.revision, refusal.field, refusal.reason)
        self.refusal = refusal


def _taken_s(desired: Desired) -> float:
    """Show time of the venue's take of a revision, where its frame grid begins."""
    return desired.take.at_ms / 1_000 if desired.take else 0.0


def _began_ms(desired: Desired, shown: Shown) -> int | None:
    """When what shows began, by take or timed take."""
    began = [moment.at_ms for moment in (desired.take, shown.by) if moment]
    return max(began, default=None)


def _held(ready: _Ready | None) -> Held | None:
    return Held(revision=ready.desired.revision, sha256=ready.desired.sha256) if ready else None
