"""Child processes of a rehearsal: started with a log of their own, stopped in order, and never outliving the parent."""

import os
import shlex
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TypeVar

from hub.parent_death import END_WITH_PARENT

T = TypeVar("T")

REAL_VENUE = ("STRINGCOURSE_DATABASE", "STRINGCOURSE_BROKER")


class ChildFailedError(RuntimeError):
    """A child ended by itself, or what was awaited of it came too late. The message carries the end of its log."""


class Child:
    """One process of the rehearsal. `name` is what messages call it; its output is appended to `log`."""

    def __init__(self, name: str, command: Sequence[str | Path], log: Path) -> None:
        self.name = name
        self.log = log
        self._command = [str(word) for word in command]
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def pid(self) -> int:
        if self._process is None:
            raise ChildFailedError(f"{self.name} was never started")
        return self._process.pid

    @property
    def running(self) -> bool:
        return self._process is not None and self._process.poll() is None

    @property
    def command_line(self) -> str:
        """What starts it, as a person would type it."""
        return shlex.join(self._command)

    def start(self) -> None:
        """Start it in a session of its own: Ctrl-C then reaches the parent alone, and the parent decides the order."""
        self.log.parent.mkdir(parents=True, exist_ok=True)
        # The hub's first log line shows its token.
        self.log.touch(mode=0o600)
        with self.log.open("ab") as output:
            self._process = subprocess.Popen(  # noqa: S603 (the command is ours, never a caller's text)
                self._command,
                env=own_environment(),
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT,
                start_new_session=True,
                preexec_fn=END_WITH_PARENT,
            )

    def signal_stop(self) -> None:
        if self._process is not None and self.running:
            self._process.terminate()

    def wait_stopped(self, deadline_s: float) -> None:
        """Wait for a stop asked for before; past the deadline it is killed."""
        if self._process is None:
            return
        try:
            self._process.wait(deadline_s)
        except subprocess.TimeoutExpired:
            self.kill()

    def kill(self) -> None:
        """SIGKILL, as a power cut would."""
        if self._process is not None and self.running:
            self._process.kill()
            self._process.wait()

    def last_words(self) -> str:
        """The end of its log, for a message to a person."""
        if not self.log.exists():
            return "(it wrote no log)"
        return "\n".join(self.log.read_text(errors="replace").splitlines()[-8:])


def wait_until(what: str, condition: Callable[[], T | None], deadline_s: float, children: Sequence[Child] = ()) -> T:
    """The first truthy value of `condition`, asked about twenty times a second.

    Raises ChildFailedError when the deadline passes or one of `children` has ended.
    """
    until = time.monotonic() + deadline_s
    while True:
        value = condition()
        if value:
            return value
        for child in children:
            if not child.running:
                raise ChildFailedError(f"{child.name} ended while waiting for: {what}\n{child.last_words()}")
        if time.monotonic() > until:
            raise ChildFailedError(f"not within {deadline_s:.0f} s: {what}")
        time.sleep(0.05)


def run_to_end(command: Sequence[str | Path], environment: Mapping[str, str]) -> str:
    """Run a command to its end and return what it printed; raises ChildFailedError with its own words when it fails."""
    done = subprocess.run(  # noqa: S603 (the command is ours, never a caller's text)
        command, env=dict(environment), stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        words = " ".join(str(word) for word in command[:4])
        raise ChildFailedError(f"{words} ended with {done.returncode}:\n{done.stderr or done.stdout}")
    return done.stdout


def own_environment() -> dict[str, str]:
    """This process's environment without what would lead a rehearsal to the database and broker of a real venue."""
    return {name: value for name, value in os.environ.items() if name not in REAL_VENUE}
