"""The data folder: one hub at a time, and a note of where that hub listens."""

import fcntl
import json
import os
from pathlib import Path

from hub.broker.private_file import write_private
from hub.errors import ConflictError


class DataFolder:
    """Locked while open. The lock ends with the process, however it ends."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock: int | None = None

    @property
    def facts_file(self) -> Path:
        """`hub.json`: pid, addresses and ports of the hub that runs here; gone when it stopped in order."""
        return self.path / "hub.json"

    def open(self) -> None:
        """Make the folder where there is none, and lock it. Raises ConflictError when another hub runs on it."""
        try:
            self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
            lock = os.open(self.path / "hub.lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        except OSError as error:
            raise ConflictError(
                f"the data folder {self.path} cannot be used ({error.strerror}); choose another with --data"
            ) from error
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            os.close(lock)
            raise ConflictError(
                f"another hub runs on {self.path} already{self._who()}; stop it, or choose another folder with --data"
            ) from error
        self._lock = lock

    def write_facts(self, facts: dict[str, object]) -> None:
        write_private(self.facts_file, json.dumps(facts, indent=2) + "\n")

    def close(self) -> None:
        if self._lock is not None:
            self.facts_file.unlink(missing_ok=True)
            os.close(self._lock)
            self._lock = None

    def _who(self) -> str:
        try:
            pid = int(json.loads(self.facts_file.read_text())["pid"])
        except (OSError, ValueError, KeyError, TypeError):
            return ""
        return f" (process {pid})"
