"""Child processes that end when the one that started them does, however it ends."""

import ctypes
import signal
import sys
from collections.abc import Callable
from typing import Final

_PR_SET_PDEATHSIG: Final = 1
# Loaded before any fork: a child between fork and exec must not load anything.
_libc = ctypes.CDLL(None, use_errno=True) if sys.platform == "linux" else None


def _ask_for_the_signal() -> None:
    if _libc is not None:
        _libc.prctl(_PR_SET_PDEATHSIG, signal.SIGTERM)


END_WITH_PARENT: Final[Callable[[], None] | None] = None if _libc is None else _ask_for_the_signal
"""For `preexec_fn` of subprocess: the kernel sends SIGTERM when the thread that started the child ends (Linux only)."""
