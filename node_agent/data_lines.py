"""The data lines of a board: opened for a revision's wiring, fed a frame each, dark when they are let go.

Pixels hold what they were sent last. So each line remembers the grant that its last frame was under, and a line that
could not be darkened when its run left the wiring is remembered until it is.
"""

import logging
import queue
import threading
import time
from dataclasses import dataclass
from typing import Final, Protocol

from node_agent.board import Board
from node_agent.outputs import Output, OutputError, WireFrame
from node_agent.prepared import PreparedRevision
from schemas import DesiredChannel, PixelType

REOPEN_AFTER_S: Final = 5.0
_LONGEST_CLOSE_S: Final = 2.0

_log = logging.getLogger(__name__)


class _Line:
    """One channel's way out. A line that fails is told once and opened again after a while; the others go on.

    `grant` is that of the last frame which went out whole, 0 before the first; `dark` whether that was the last of all.
    """

    def __init__(self, board: Board, prepared: PreparedRevision, number: int) -> None:
        self.grant = 0
        self.dark = False
        self._board = board
        self._channel = prepared.channels[number]
        self._encoder = prepared.encoders[number]
        self._output: Output | None = None
        self._retry_at_s = 0.0
        self._told = False

    def send(self, frame: WireFrame, grant: int) -> None:
        if self._send(frame):
            self.grant = grant

    def close(self, last: WireFrame) -> None:
        """Sends the last frame, which is dark. May be called again where that failed."""
        self.dark = self._send(last)
        if self._output is not None:
            self._output.close()
            self._output = None

    def _send(self, frame: WireFrame) -> bool:
        if self._output is None and time.monotonic() < self._retry_at_s:
            return False
        try:
            if self._output is None:
                self._output = self._board.open(self._channel, self._encoder)
            self._output.send(frame)
        except OutputError as error:
            self._fail(error)
            return False
        if self._told:
            _log.info("channel %d works again", self._channel.number)
            self._told = False
        return True

    def _fail(self, error: OutputError) -> None:
        if not self._told:
            _log.error("channel %d is dark: %s; tried again every %.0f s", self._channel.number, error, REOPEN_AFTER_S)
            self._told = True
        if self._output is not None:
            self._output.close()
            self._output = None
        self._retry_at_s = time.monotonic() + REOPEN_AFTER_S


class _Sender(Protocol):
    """Hands frames to a line. `busy` while it may still be at the last one after `close`."""

    @property
    def busy(self) -> bool: ...
    def send(self, frame: WireFrame, grant: int) -> None: ...
    def close(self, last: WireFrame) -> None: ...


class _DirectSender:
    """For boards where sending takes no time."""

    busy = False

    def __init__(self, line: _Line) -> None:
        self.send, self.close = line.send, line.close


class _ThreadedSender:
    """For boards where sending blocks for the wire time: frames are handed to a thread of its own."""

    def __init__(self, line: _Line, number: int) -> None:
        self._line = line
        self._frames: queue.Queue[tuple[WireFrame, int | None]] = queue.Queue(maxsize=1)
        self._thread = threading.Thread(target=self._run, name=f"channel-{number}", daemon=True)
        self._thread.start()

    @property
    def busy(self) -> bool:
        return self._thread.is_alive()

    def send(self, frame: WireFrame, grant: int) -> None:
        self._frames.put((frame, grant))

    def close(self, last: WireFrame) -> None:
        self._frames.put((last, None))
        self._thread.join(_LONGEST_CLOSE_S)

    def _run(self) -> None:
        while True:
            frame, grant = self._frames.get()
            if grant is None:
                self._line.close(frame)
                return
            self._line.send(frame, grant)


_Wiring = tuple[str, int, PixelType]


@dataclass(frozen=True, slots=True)
class _Open:
    wiring: _Wiring
    line: _Line
    sender: _Sender
    dark: bytes

    def close(self, show_s: float) -> None:
        self.sender.close(WireFrame(self.dark, show_s, None))


class DataLines:
    """All open lines. One thread, the frame loop's, uses it."""

    def __init__(self, board: Board) -> None:
        self._board = board
        self._open: dict[int, _Open] = {}
        self._left_lit: list[_Open] = []
        self._newest_grant = 0

    @property
    def grant(self) -> int:
        """The grant that every line's last frame was under; 0 while they differ, or one that was let go may be lit."""
        grants = {self._newest_grant, *(opened.line.grant for opened in self._open.values())}
        return self._newest_grant if len(grants) == 1 and not self._left_lit else 0

    def rewire(self, prepared: PreparedRevision, show_s: float) -> None:
        """Opens what the revision needs, keeps what is wired as before, darkens and closes the rest."""
        for number, opened in list(self._open.items()):
            channel = prepared.channels.get(number)
            if channel is None or _wiring(channel) != opened.wiring:
                del self._open[number]
                opened.close(show_s)
                if not opened.line.dark:
                    self._left_lit.append(opened)
        for number, channel in prepared.channels.items():
            if number not in self._open:
                line = _Line(self._board, prepared, number)
                sender: _Sender = _ThreadedSender(line, number) if self._board.blocks else _DirectSender(line)
                self._open[number] = _Open(_wiring(channel), line, sender, prepared.dark_frames[number])

    def send(self, frames: dict[int, bytes], show_s: float, revision: int, grant: int) -> None:
        """A frame to each line, limited under that grant (0: none)."""
        if self._left_lit:
            self._darken_what_was_let_go(show_s)
        self._newest_grant = grant
        for number, data in frames.items():
            self._open[number].sender.send(WireFrame(data, show_s, revision), grant)

    def close(self, show_s: float) -> None:
        """Every pixel goes dark."""
        for opened in self._open.values():
            opened.close(show_s)
        self._open.clear()

    def _darken_what_was_let_go(self, show_s: float) -> None:
        for opened in self._left_lit:
            if not opened.sender.busy and not opened.line.dark:
                opened.line.close(WireFrame(opened.dark, show_s, None))
        self._left_lit = [opened for opened in self._left_lit if not opened.line.dark]


def _wiring(channel: DesiredChannel) -> _Wiring:
    return channel.pin, channel.pixels, channel.pixel_type
