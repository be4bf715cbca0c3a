"""What survives a power cut: the desired document that shows, the one that is staged, the grant, the session counter,
the last known show time, the count of starts.

Each lies in a file of its own: a line with the SHA-256 of what follows, then JSON. A write goes to a temporary file, is
flushed to the medium, and takes the old one's place by rename, so a reader finds the old or the new one whole. A file
that is damaged nevertheless (a worn card, a stray hand) is set aside under another name and told, never fatal.
"""

import contextlib
import hashlib
import logging
import os
from pathlib import Path
from typing import Annotated, Final, TypeVar

from pydantic import Field, ValidationError

from node_agent.board_figures import KeptStarts
from node_agent.clock import KeptClock
from schemas import Desired, Grant
from schemas.contract import Contract

SHOWING: Final = "showing.json"
STAGED: Final = "staged.json"
SESSION: Final = "session.json"
GRANT: Final = "grant.json"
CLOCK: Final = "clock.json"
STARTS: Final = "starts.json"
DAMAGED_FILES_KEPT: Final = 3
_MAX_FILE_BYTES: Final = 4 * 1024 * 1024
_SESSIONS: Final = 256

Kept = TypeVar("Kept", bound=Contract)

_log = logging.getLogger(__name__)


class StoreError(Exception):
    """The state directory cannot be used. The message names it and the remedy."""

    def __init__(self, folder: Path, error: OSError) -> None:
        super().__init__(
            f"state directory {folder}: {error.strerror or error}; "
            "create it, give its ownership to the agent's user, and see that the disk is not full"
        )


class _Session(Contract):
    session: Annotated[int, Field(ge=0, lt=_SESSIONS)]


class Store:
    """The state directory of one agent. Raises StoreError where it can be neither made nor written.

    `damaged_state` says which files were found damaged and set aside since the agent started, or is None; `new` is a
    directory in which nothing lay.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._damaged: list[str] = []
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self.new = not any(folder.iterdir())
            for leftover in folder.glob(".*.writing"):
                leftover.unlink()
        except OSError as error:
            raise StoreError(folder, error) from error
        self.showing = self._load(SHOWING, Desired)
        self.staged = self._load(STAGED, Desired)
        self._grant = self._load(GRANT, Grant)
        self._clock = self._load(CLOCK, KeptClock)
        self.starts = self._load(STARTS, KeptStarts)
        self._session = self._load_session()
        if self.showing and self.staged and self.staged.revision <= self.showing.revision:
            self.drop_staged()  # power went between the two steps of `take`

    @property
    def folder(self) -> Path:
        return self._folder

    @property
    def damaged_state(self) -> str | None:
        return "; ".join(self._damaged)[:400] or None

    @property
    def showing_lost(self) -> bool:
        """Whether a showing document was here, was damaged, and none has followed it."""
        return self.showing is None and any(self._folder.glob(f"{SHOWING}.damaged-*"))

    def stage(self, desired: Desired) -> None:
        self._write(STAGED, desired.model_dump_json().encode())
        self.staged = desired

    def drop_staged(self) -> None:
        self.staged = None
        try:
            (self._folder / STAGED).unlink(missing_ok=True)
            self._flush_folder()
        except OSError as error:
            raise StoreError(self._folder, error) from error

    def take(self, desired: Desired) -> None:
        """`desired` shows from now on and nothing is staged."""
        self._write(SHOWING, desired.model_dump_json().encode())
        self.showing = desired
        self.drop_staged()

    @property
    def grant(self) -> Grant | None:
        return self._grant

    def keep_grant(self, grant: Grant) -> None:
        self._write(GRANT, grant.model_dump_json().encode())
        self._grant = grant

    @property
    def clock(self) -> KeptClock | None:
        return self._clock

    def keep_clock(self, kept: KeptClock) -> None:
        self._write(CLOCK, kept.model_dump_json().encode())
        self._clock = kept

    def keep_starts(self, kept: KeptStarts) -> None:
        """Counts on in memory where the disk no longer takes it."""
        self.starts = kept
        try:
            self._write(STARTS, kept.model_dump_json().encode())
        except StoreError as error:
            _log.warning("the count of starts is not kept: %s", error)

    def next_session(self) -> int:
        """Counts connections: 0 to 255, then 0 again. Counts on in memory where the disk no longer takes it."""
        self._session = (self._session + 1) % _SESSIONS
        try:
            self._write(SESSION, _Session(session=self._session).model_dump_json().encode())
        except StoreError as error:
            _log.warning("the session counter is not kept: %s", error)
        return self._session

    def _load_session(self) -> int:
        kept = self._load(SESSION, _Session)
        return _SESSIONS - 1 if kept is None else kept.session

    def _load(self, name: str, kind: type[Kept]) -> Kept | None:
        content = self._read(name)
        if content is None:
            return None
        try:
            return kind.model_validate_json(content)
        except ValidationError:
            self._set_aside(name)
            return None

    def _read(self, name: str) -> bytes | None:
        """The checked content, or None where there is none. A damaged file is set aside."""
        path = self._folder / name
        try:
            with path.open("rb") as file:
                raw = file.read(_MAX_FILE_BYTES + 1)
        except FileNotFoundError:
            return None
        except OSError:
            self._set_aside(name)
            return None
        checksum, _, content = raw.partition(b"\n")
        if len(raw) > _MAX_FILE_BYTES or checksum.decode("ascii", "replace") != hashlib.sha256(content).hexdigest():
            self._set_aside(name)
            return None
        return content

    def _set_aside(self, name: str) -> None:
        slots = [self._folder / f"{name}.damaged-{number}" for number in range(1, DAMAGED_FILES_KEPT + 1)]
        slot = next((free for free in slots if not free.exists()), None) or min(slots, key=lambda s: s.stat().st_mtime)
        with contextlib.suppress(OSError):
            (self._folder / name).replace(slot)
        self._damaged.append(f"{name} was damaged and set aside as {slot.name}")

    def _write(self, name: str, content: bytes) -> None:
        temporary = self._folder / f".{name}.writing"
        try:
            with temporary.open("wb") as file:
                file.write(hashlib.sha256(content).hexdigest().encode() + b"\n")
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            temporary.replace(self._folder / name)
            self._flush_folder()
        except OSError as error:
            with contextlib.suppress(OSError):
                temporary.unlink()  # on a full disk the part that was written takes the room of the next try
            raise StoreError(self._folder, error) from error

    def _flush_folder(self) -> None:
        descriptor = os.open(self._folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
