"""The data lines of a board: opened for a revision's wiring, fed a frame each, dark when they are let go."""

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

_log = logging.getLogger(__name__)


class _Sender(Protocol):
    def send(self, frame: WireFrame) -> None: ...
    def close(self, last: WireFrame) -> None: ...


class _Line:
    """One channel's way out. A line that fails is told once and opened again after a while; the others go on."""

    def __init__(self, board: Board, prepared: PreparedRevision, number: int) -> None:
        self._board = board
        self._channel = prepared.channels[number]
        self._encoder = prepared.encoders[number]
        self._output: Output | None = None
        self._retry_at_s = 0.0
        self._told = False

    def send(self, frame: WireFrame) -> None:
        if self._output is None and time.monotonic() < self._retry_at_s:
            return
        try:
            if self._output is None:
                self._output = self._board.open(self._channel, self._encoder)
            self._output.send(frame)
        except OutputError as error:
            self._fail(error)
        else:
            if self._told:
                _log.info("channel %d works again", self._channel.number)
                self._told = False

    def close(self, last: WireFrame) -> None:
        self.send(last)
        if self._output is not None:
            self._output.close()

    def _fail(self, error: OutputError) -> None:
        if not self._told:
            _log.error("channel %d is dark: %s; tried again every %.0f s", self._channel.number, error, REOPEN_AFTER_S)
            self._told = True
        if self._output is not None:
            self._output.close()
            self._output = None
        self._retry_at_s = time.monotonic() + REOPEN_AFTER_S


class _ThreadedLine:
    """A line whose sending blocks for the wire time: frames are handed to a thread of its own."""

    def __init__(self, line: _Line, number: int) -> None:
        self._line = line
        self._frames: queue.Queue[tuple[WireFrame, bool]] = queue.Queue(maxsize=1)
        self._thread = threading.Thread(target=self._run, name=f"channel-{number}", daemon=True)
        self._thread.start()

    def send(self, frame: WireFrame) -> None:
        self._frames.put((frame, False))

    def close(self, last: WireFrame) -> None:
        self._frames.put((last, True))
        self._thread.join(2.0)

    def _run(self) -> None:
        while True:
            frame, last = self._frames.get()
            if last:
                self._line.close(frame)
                return
            self._line.send(frame)


_Wiring = tuple[str, int, PixelType]


@dataclass(frozen=True, slots=True)
class _Open:
    wiring: _Wiring
    sender: _Sender
    dark: bytes


class DataLines:
    """All open lines. One thread, the frame loop's, uses it."""

    def __init__(self, board: Board) -> None:
        self._board = board
        self._open: dict[int, _Open] = {}

    def rewire(self, prepared: PreparedRevision, show_s: float) -> None:
        """Opens what the revision needs, keeps what is wired as before, darkens and closes the rest."""
        for number, line in list(self._open.items()):
            channel = prepared.channels.get(number)
            if channel is None or _wiring(channel) != line.wiring:
                del self._open[number]
                line.sender.close(WireFrame(line.dark, show_s, None))
        for number, channel in prepared.channels.items():
            if number not in self._open:
                opened = _Line(self._board, prepared, number)
                sender: _Sender = _ThreadedLine(opened, number) if self._board.blocks else opened
                self._open[number] = _Open(_wiring(channel), sender, prepared.dark_frames[number])

    def send(self, frames: dict[int, bytes], show_s: float, revision: int) -> None:
        for number, data in frames.items():
            self._open[number].sender.send(WireFrame(data, show_s, revision))

    def close(self, show_s: float) -> None:
        """Every pixel goes dark."""
        for line in self._open.values():
            line.sender.close(WireFrame(line.dark, show_s, None))
        self._open.clear()


def _wiring(channel: DesiredChannel) -> _Wiring:
    return channel.pin, channel.pixels, channel.pixel_type
