"""The small files by which the kernel tells figures, below a root."""

import os
from pathlib import Path
from typing import Final

_MAX_BYTES: Final = 16_384


class Tree:
    """Paths are relative to the root, which is `/` but for tests. What cannot be read is None: boards differ."""

    def __init__(self, root: Path = Path("/")) -> None:
        self._root = str(root).rstrip("/")

    def text(self, path: str) -> str | None:
        """The first 16 KiB. Reading may fail on a file that is there: drivers answer with errors."""
        try:
            descriptor = os.open(f"{self._root}/{path}", os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
        except OSError:
            return None
        try:
            return os.read(descriptor, _MAX_BYTES).decode("ascii", "replace").strip()
        except OSError:
            return None
        finally:
            os.close(descriptor)

    def number(self, path: str) -> int | None:
        """A decimal or, with 0x, a hexadecimal number."""
        try:
            return int(self.text(path) or "", 0)
        except ValueError:
            return None

    def names(self, folder: str, beginning: str = "") -> list[str]:
        """What lies in a folder, by name; nothing where there is no folder."""
        try:
            with os.scandir(f"{self._root}/{folder}") as entries:
                return sorted(entry.name for entry in entries if entry.name.startswith(beginning))
        except OSError:
            return []
