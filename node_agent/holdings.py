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
from schemas import Desired, Held, Refusal, Take, TakeTime

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class _Ready:
    """A revision that is held, made ready to show."""

    desired: Desired
    prepared: PreparedRevision


class Holdings:
    """One thread uses it, the agent's. `showing`, `scene` and `taken_at_ms` are of the revision on the pixels."""

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
        return self._showing.desired.body.showing if self._showing else None

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
        if showing and showing.desired.take:
            self.taken_at_ms = showing.desired.take.at_ms
        # With the showing document lost, the staged one lights the front until the hub says more; it counts as staged
        # only, so that whatever the hub holds in force can still follow.
        stand_in = showing or (staged if self._store.showing_lost else None)
        if stand_in:
            self._frames.start(stand_in.prepared, (self.taken_at_ms or 0) / 1_000)
            state = "shows" if showing else "shows for want of the one in force, which was damaged"
            _log.info("revision %d, scene %s, %s", stand_in.desired.revision, stand_in.desired.body.showing, state)
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
        """The venue's take. One that comes before its document waits for it."""
        if self._waiting and take.revision == self._waiting.desired.revision:
            time = TakeTime(at_ms=take.at_ms, fade_ms=take.fade_ms)
            if time != self._waiting.desired.take:
                self._schedule(self._waiting, time)
        elif self._showing is None or take.revision > self._showing.desired.revision:
            self._early_take = take

    def taken(self, event: Taken) -> None:
        """The first frame of a take is out. It may have been called off, or followed, in that very moment."""
        revision, show_s = event.revision, event.show_s
        ready, self._scheduled = self._scheduled, None
        if ready is None or ready.desired.revision != revision or ready.desired.take is None:
            self._scheduled = ready
            if self._showing and self._showing.desired.revision != revision:
                self._frames.take(self._showing.prepared, show_s, 0.0)
            return
        self.taken_at_ms = round(show_s * 1_000)
        take = ready.desired.take.model_copy(update={"at_ms": self.taken_at_ms})
        self._showing = _Ready(ready.desired.model_copy(update={"take": take}), ready.prepared)
        if self._waiting and self._waiting.desired.revision == revision:
            self._waiting = None
        _log.info("revision %d taken: scene %s", revision, self.scene)
        try:
            self._store.take(self._showing.desired)
            if self._waiting:
                self._store.stage(self._waiting.desired)
        except StoreError as error:
            _log.error("revision %d shows but is not kept: %s", revision, error)

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
        elif early and early.revision == desired.revision:
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


def _held(ready: _Ready | None) -> Held | None:
    return Held(revision=ready.desired.revision, sha256=ready.desired.sha256) if ready else None
