"""Frames to a file instead of a data line: the very bytes, with the times and the revision they belong to.

A file is `MAGIC`, the length of the header (4 bytes, big-endian), the header (JSON, `CaptureHeader`) and records. A
record is its fixed part (`_RECORD`), the data, and a CRC-32 over both; a frame with the same data as the one before
leaves its data out. Once full the file becomes `NAME.older`, in place of the one that had that name, and a new one
begins; so does a new start over a file that exists.
"""

import errno
import os
import struct
import time
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

from pydantic import Field, ValidationError

from node_agent.outputs.encoder import Decoded, decode_frame
from node_agent.outputs.output import OutputError, WireFrame
from schemas import PixelType
from schemas.contract import Contract
from schemas.venue import PixelCount

MAGIC: Final = b"stringcourse capture 1\n"
MAX_CAPTURE_BYTES: Final = 4 * 1024 * 1024
_RECORD: Final = struct.Struct(">ddqI")  # written at, show time, revision or -1, bytes of data
_LENGTH: Final = struct.Struct(">I")
_MAX_HEADER_BYTES: Final = 64 * 1024
_MAX_DATA_BYTES: Final = 4 * 1024 * 1024


class CaptureHeader(Contract):
    """What a reader needs to turn the bytes back into codes and times."""

    pixel_type: PixelType
    pixels: PixelCount
    clock_hz: int = Field(ge=1, le=1_000_000_000)


@dataclass(frozen=True, slots=True)
class CapturedFrame:
    """A frame as it was sent. `written_at_s` is the writing board's wall clock, `show_time_s` the frame's show time."""

    header: CaptureHeader
    written_at_s: float
    show_time_s: float
    revision: int | None
    data: bytes

    def decode(self) -> Decoded:
        """Codes, and what else the data line carried. Raises OutputError when the data is no whole frame."""
        return decode_frame(self.data, self.header.pixel_type, self.header.pixels, self.header.clock_hz)


class CaptureOutput:
    """Writes frames to a file of at most `max_bytes`, and keeps one older file. Does not wait for the wire time."""

    def __init__(self, path: Path, header: CaptureHeader, max_bytes: int = MAX_CAPTURE_BYTES) -> None:
        """Raises OutputError when the file cannot be written, or is not a capture and would be lost."""
        self._path, self._max_bytes = path, max_bytes
        text = header.model_dump_json().encode()
        self._head = MAGIC + _LENGTH.pack(len(text)) + text
        self._file: BinaryIO | None = None
        self._size = 0
        self._previous: bytes | None = None
        try:
            for existing in (path, older_capture(path)):
                if existing.exists() and not _is_capture(existing):
                    raise OutputError(f"capture {existing}", "exists and is not a capture file", "name another file")
            self._begin()
        except OSError as error:
            raise self._failed(error) from error

    def send(self, frame: WireFrame) -> None:
        if self._file is None:
            raise OutputError(f"capture {self._path}", "the file is closed", "open it again")
        data = bytes(frame.data)
        record = self._record(frame, data)
        try:
            if self._size + len(record) > self._max_bytes:
                self._begin()
                record = self._record(frame, data)
            if self._file.write(record) != len(record):
                self._file.seek(self._size)
                self._file.truncate()
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        except OSError as error:
            raise self._failed(error) from error
        self._size += len(record)
        self._previous = data

    def close(self) -> None:
        if self._file is not None:
            self._file.close()
            self._file = None

    def _begin(self) -> None:
        self.close()
        if self._path.exists():
            self._path.replace(older_capture(self._path))
        # Without a buffer of its own: what a killed process has sent is then in the file.
        self._file = self._path.open("xb", buffering=0)
        self._file.write(self._head)
        self._size = len(self._head)
        self._previous = None

    def _record(self, frame: WireFrame, data: bytes) -> bytes:
        repeated = data == self._previous
        revision = -1 if frame.revision is None else frame.revision
        fixed = _RECORD.pack(time.time(), frame.show_time_s, revision, 0 if repeated else len(data))
        content = fixed if repeated else fixed + data
        return content + _LENGTH.pack(zlib.crc32(content))

    def _failed(self, error: OSError) -> OutputError:
        return OutputError(
            f"capture {self._path}",
            f"cannot be written: {error.strerror}",
            "name a file in a folder that exists, is yours and has room",
        )


def older_capture(path: Path) -> Path:
    """Where the frames before those of `path` are kept."""
    return path.with_name(path.name + ".older")


def _is_capture(path: Path) -> bool:
    with path.open("rb") as file:
        start = file.read(len(MAGIC))
    return start == MAGIC[: len(start)]


def read_capture(path: Path) -> Iterator[CapturedFrame]:
    """The frames of the older file, if there is one, and of `path`, in the order they were sent.

    A record that a crash cut off, or that is damaged, ends its file's frames without an error. Raises OutputError for
    a file that is missing or is not a capture.
    """
    try:
        with path.open("rb") as newer:
            older = older_capture(path)
            if older.exists():
                with older.open("rb") as file:
                    # The writer may have turned over since `path` was opened: then both are one file.
                    if not os.path.sameopenfile(file.fileno(), newer.fileno()):
                        yield from _frames(older, file)
            yield from _frames(path, newer)
    except OSError as error:
        raise OutputError(f"capture {path}", f"cannot be read: {error.strerror}", "name a capture file") from error


def _frames(path: Path, file: BinaryIO) -> Iterator[CapturedFrame]:
    header = _header(path, file)
    if header is None:
        return
    data = b""
    while len(fixed := file.read(_RECORD.size)) == _RECORD.size:
        written_at_s, show_time_s, revision, length = _RECORD.unpack(fixed)
        if length > _MAX_DATA_BYTES:
            return
        rest = file.read(length + _LENGTH.size)
        if len(rest) < length + _LENGTH.size or _LENGTH.unpack(rest[length:])[0] != zlib.crc32(fixed + rest[:length]):
            return
        data = rest[:length] if length else data
        yield CapturedFrame(header, written_at_s, show_time_s, None if revision < 0 else revision, data)


def _header(path: Path, file: BinaryIO) -> CaptureHeader | None:
    """None where a crash has cut the header itself off."""
    wrong = OutputError(f"capture {path}", "is not a capture file", "name a file that `--capture` has written")
    magic = file.read(len(MAGIC))
    if magic != MAGIC[: len(magic)]:
        raise wrong
    packed = file.read(_LENGTH.size)
    if len(packed) < _LENGTH.size:
        return None
    (length,) = _LENGTH.unpack(packed)
    text = file.read(min(length, _MAX_HEADER_BYTES))
    if len(text) < min(length, _MAX_HEADER_BYTES):
        return None
    try:
        return CaptureHeader.model_validate_json(text)
    except ValidationError as error:
        raise wrong from error
