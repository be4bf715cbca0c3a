"""Real processes for tests: started, watched and stopped by their own id, with a deadline on every wait."""

import os
import random
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import TracebackType
from typing import Literal, Protocol, TypeVar

from hub.parent_death import END_WITH_PARENT

T = TypeVar("T")
_random = random.SystemRandom()  # hypothesis seeds the module's own, and workers would then meet


def wait_until(condition: Callable[[], T | Literal[False] | None], deadline_s: float, what: str = "") -> T:
    """The first true value of `condition`, asked every 10 ms; AssertionError when none came within `deadline_s`."""
    end_s = time.monotonic() + deadline_s
    while True:
        if value := condition():
            return value
        if time.monotonic() > end_s:
            name = what or getattr(condition, "__name__", "condition")
            raise AssertionError(f"waited {deadline_s} s in vain for: {name}")
        time.sleep(0.01)


def free_port() -> int:
    """A port on loopback that nothing listened on a moment ago.

    Not one of those that the system gives to outgoing connections: any test's could take it before it is listened on.
    """
    while True:
        port = _random.randrange(15_000, 32_000)
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port


def answers(host: str, port: int) -> bool:
    """Whether something accepts connections there."""
    try:
        with socket.create_connection((host, port), timeout=1):
            return True
    except OSError:
        return False


class Started(Protocol):
    """What a test does with a process that it started, as `subprocess.Popen` offers it."""

    @property
    def pid(self) -> int: ...
    def poll(self) -> int | None: ...
    def wait(self, timeout: float | None = None) -> int: ...
    def send_signal(self, sig: int, /) -> None: ...
    def terminate(self) -> None: ...
    def kill(self) -> None: ...


class RealProcess:
    """A child process with its output in a file. Use as a context manager; nothing is left behind."""

    def __init__(self, command: Sequence[str | Path], log: Path, environment: dict[str, str] | None = None) -> None:
        self.log = log
        with log.open("ab") as output:
            self._popen: Started = subprocess.Popen(
                [str(word) for word in command],
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT,
                env={**os.environ, **(environment or {})},
                # A test that fails before its teardown knows of the process leaves nothing behind either.
                preexec_fn=END_WITH_PARENT,
            )

    @property
    def pid(self) -> int:
        return self._popen.pid

    @property
    def exit_code(self) -> int | None:
        """None while it runs."""
        return self._popen.poll()

    def output(self) -> str:
        return self.log.read_text(encoding="utf-8", errors="replace")

    def send_signal(self, number: signal.Signals) -> None:
        self._popen.send_signal(number)

    def wait(self, deadline_s: float = 10.0) -> int:
        """The exit code once it has ended by itself; raises subprocess.TimeoutExpired."""
        return self._popen.wait(deadline_s)

    def kill(self) -> None:
        """SIGKILL, and wait until it is gone."""
        self._popen.kill()
        self._popen.wait(10)

    def stop(self, deadline_s: float = 10.0) -> int:
        """SIGTERM, then SIGKILL after the deadline. The exit code; negative is the number of the signal."""
        if self._popen.poll() is None:
            self._popen.terminate()
        try:
            return self._popen.wait(deadline_s)
        except subprocess.TimeoutExpired:
            self.kill()
            return self._popen.wait(10)

    def __enter__(self) -> "RealProcess":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()
