"""Files with secrets: mode 0600 from the first byte, whole or not at all."""

import os
import tempfile
from pathlib import Path


def write_private(path: Path, text: str) -> None:
    """Replace `path` atomically by `text`, readable by its owner alone."""
    descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")  # mkstemp makes it 0600
    temporary = Path(name)
    try:
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
