"""The product's programs as processes of their own, without the second or two that their imports take: each is forked
from a server that has made them already. Words, streams, folder and environment are its own, as a shell gives them.

What is about starting itself uses `RealProcess` or subprocess.
"""

import multiprocessing
import os
import signal
import subprocess
import sys
from collections.abc import Mapping, Sequence
from multiprocessing.context import ForkServerProcess
from pathlib import Path
from tempfile import TemporaryDirectory

from hub.parent_death import END_WITH_PARENT
from tests.processes import RealProcess
from tests.warm_commands import load_entry_point

HOUSE = Path(__file__).parents[1]
_context = multiprocessing.get_context("forkserver")
_context.set_forkserver_preload(["tests.warm_commands"])


def run_warm(
    words: Sequence[str | Path],
    environment: Mapping[str, str] | None = None,
    *,
    folder: Path = HOUSE,
    answer: str = "",
    longest_s: float = 60.0,
) -> subprocess.CompletedProcess[str]:
    """One run to its end. `words` begin with the name of the program; `environment` is its whole environment."""
    with TemporaryDirectory() as streams:
        given, said, complained = (Path(streams) / name for name in ("in", "out", "err"))
        given.write_text(answer, encoding="utf-8")
        process = _Forked(
            words, dict(os.environ if environment is None else environment), folder, given, said, complained
        )
        try:
            code = process.wait(longest_s)
        finally:
            process.kill()
        return subprocess.CompletedProcess(process.words, code, said.read_text("utf-8"), complained.read_text("utf-8"))


class WarmProcess(RealProcess):
    """A program that runs until it is stopped, with its output in a file."""

    def __init__(self, words: Sequence[str | Path], log: Path, environment: Mapping[str, str] | None = None) -> None:
        self.log = log
        whole = {**os.environ, **(environment or {})}
        self._popen = _Forked(words, whole, Path.cwd(), Path(os.devnull), log, log)


class _Forked:
    """What is needed of `subprocess.Popen`, of a process of the server."""

    def __init__(
        self,
        words: Sequence[str | Path],
        environment: dict[str, str],
        folder: Path,
        given: Path,
        said: Path,
        complained: Path,
    ) -> None:
        self.words = [str(word) for word in words]
        arguments = (self.words, environment, folder, given, said, complained)
        self._process: ForkServerProcess = _context.Process(target=_run, args=arguments, daemon=True)
        self._process.start()

    @property
    def pid(self) -> int:
        pid = self._process.pid
        assert pid is not None
        return pid

    def poll(self) -> int | None:
        return self._process.exitcode

    def wait(self, timeout: float | None = None) -> int:
        self._process.join(timeout)
        code = self._process.exitcode
        if code is None:
            raise subprocess.TimeoutExpired(self.words, timeout or 0.0)
        return code

    def send_signal(self, number: int) -> None:
        if self.poll() is None:
            os.kill(self.pid, number)

    def terminate(self) -> None:
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)


def _run(
    words: Sequence[str], environment: Mapping[str, str], folder: Path, given: Path, said: Path, complained: Path
) -> None:
    """In the forked process."""
    if END_WITH_PARENT is not None:
        END_WITH_PARENT()
    for path, number, flags in (
        (given, 0, os.O_RDONLY),
        (said, 1, os.O_WRONLY | os.O_CREAT | os.O_APPEND),
        (complained, 2, os.O_WRONLY | os.O_CREAT | os.O_APPEND),
    ):
        opened = os.open(path, flags, 0o666)
        os.dup2(opened, number)
        os.close(opened)
    sys.stdin, sys.stdout = os.fdopen(0, encoding="utf-8"), os.fdopen(1, "w", encoding="utf-8")
    sys.stderr = os.fdopen(2, "w", buffering=1, encoding="utf-8")
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(folder)
    sys.argv = list(words)
    sys.exit(load_entry_point(words[0])())
