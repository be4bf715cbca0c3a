"""Boards in this process, on the far side of the fleet loop: they stage, refuse, take and report as agents do.

For killing the hub between any two of its messages, which no real broker can be asked to do; the real broker has tests
of its own.
"""

import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager

from hub.fleet.inbox import Inbox, Message
from schemas import (
    Desired,
    Grant,
    GrantHeld,
    Held,
    Leaf,
    Presence,
    Refusal,
    Reported,
    Take,
    node_topic,
    parse_node_topic,
    take_topic,
)

BOOT = "0a0b0c0d"


class Board:
    """What one board holds and shows."""

    def __init__(self, venue: str, node: str) -> None:
        self.venue, self.node = venue, node
        self.online = True
        self.deaf = False
        self.refuses_scene: str | None = None
        self.staged: Held | None = None
        self.showing: Held | None = None
        self.showing_scene: str | None = None
        self._staged_scene: str | None = None
        self.shown: list[int] = []
        self.refusal: Refusal | None = None
        self.grant: GrantHeld | None = None

    def desired(self, payload: bytes) -> None:
        if not payload or self.deaf:
            return
        desired = Desired.model_validate_json(payload)
        held = Held(revision=desired.revision, sha256=desired.sha256)
        if self.showing is not None and held.revision < self.showing.revision:
            self.refuse(held.revision, "revision", "lower than the one shown")
        elif self.refuses_scene is not None and desired.body.showing == self.refuses_scene:
            self.refuse(held.revision, "body.showing", "not this one")
        elif held != self.showing:
            self.refusal, self.staged, self._staged_scene = None, held, desired.body.showing
            if desired.take is not None:
                self.take(desired.revision)

    def granted(self, payload: bytes) -> None:
        grant = Grant.model_validate_json(payload)
        if (grant.boot_id == BOOT) if self.grant is None else (grant.number > self.grant.number):
            self.grant = GrantHeld(number=grant.number, supplies=grant.supplies, on_wires=True)

    def take(self, revision: int) -> None:
        if self.staged is not None and self.staged.revision == revision:
            self.showing, self.staged, self.showing_scene = self.staged, None, self._staged_scene
            self.shown.append(revision)

    def refuse(self, revision: int, field: str, reason: str) -> None:
        self.refusal = Refusal(revision=revision, field=field, reason=reason, remedy="another scene")

    def reported(self) -> Reported:
        return Reported(
            boot_id=BOOT,
            session=1,
            staged=self.staged,
            showing=self.showing,
            refusal=self.refusal,
            grant=self.grant,
        )


class Boards:
    """The broker's part too: keeps the retained documents and hands them to boards that come online."""

    def __init__(self, venue: str, nodes: Iterable[str]) -> None:
        self.venue = venue
        self.boards = {node: Board(venue, node) for node in nodes}
        self.retained: dict[str, bytes] = {}
        self.published: list[str] = []
        self.takes: list[Take] = []
        self.dies_after: int | None = None
        """The hub dies instead of sending its message after so many; `at_death` is called at that moment."""
        self.at_death: Callable[[], None] = lambda: None
        self.clock: Callable[[], float] = time.time
        self._inbox: Inbox | None = None
        self._lock = threading.RLock()

    def connect(self, inbox: Inbox) -> None:
        """A hub is there, a new one perhaps: every board that is on announces itself."""
        self._inbox = inbox
        for board in self.boards.values():
            if board.online:
                self._say(board, born=True)

    @contextmanager
    def held(self) -> Iterator[None]:
        """Nothing is published meanwhile."""
        with self._lock:
            yield

    def watch(self, venues: Iterable[str]) -> None:
        pass

    def publish(self, topic: str, payload: bytes, *, retain: bool) -> None:
        with self._lock:
            if self.dies_after is not None and len(self.published) >= self.dies_after:
                at_death, self.at_death = self.at_death, lambda: None
                at_death()
                return  # the hub is dead: nothing of this reaches anyone
            self.published.append(topic)
            if retain:
                self.retained[topic] = payload
            if topic == take_topic(self.venue):
                take = Take.model_validate_json(payload)
                self.takes.append(take)
                heard = [board for board in self.boards.values() if board.online]
                for board in heard:
                    board.take(take.revision)
            else:
                parsed = parse_node_topic(topic)
                assert parsed is not None
                heard = [board for board in [self.boards.get(parsed.node)] if board is not None and board.online]
                for board in heard:
                    board.desired(payload)
            for board in heard:
                self._say(board)

    def switch(self, node: str, *, on: bool) -> None:
        with self._lock:
            board = self.boards[node]
            board.online = on
            if on:
                board.desired(self.retained.get(node_topic(self.venue, node, Leaf.DESIRED), b""))
            self._say(board, born=True)

    def _say(self, board: Board, *, born: bool = False) -> None:
        if self._inbox is None:
            return
        if born:
            state = Presence(state="online" if board.online else "offline", boot_id=BOOT, session=1, agent_version="1")
            self._put(board, Leaf.PRESENCE, state.model_dump_json().encode())
        if board.online:
            self._put(board, Leaf.REPORTED, board.reported().model_dump_json().encode())

    def _put(self, board: Board, leaf: Leaf, payload: bytes) -> None:
        assert self._inbox is not None
        topic = node_topic(board.venue, board.node, leaf)
        self._inbox.put(Message(topic, payload, retained=False, received_at_s=self.clock()))
