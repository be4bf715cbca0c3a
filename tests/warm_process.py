"""The product's programs as processes of their own, without the second that their imports take: each is forked from a
server that has made them already. Words, streams, folder and environment are its own, as a shell would give them.

What is about starting itself uses subprocess.
"""

import multiprocessing
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.warm_commands import load_entry_point

HOUSE = Path(__file__).parents[1]
_context = multiprocessing.get_context("forkserver")
_context.set_forkserver_preload(["tests.warm_commands"])


def run_warm(
    program: str,
    words: Sequence[str],
    environment: Mapping[str, str] | None = None,
    *,
    folder: Path = HOUSE,
    answer: str = "",
) -> subprocess.CompletedProcess[str]:
    """One run to its end, within a minute."""
    with TemporaryDirectory() as streams:
        given, said, complained = (Path(streams) / name for name in ("in", "out", "err"))
        given.write_text(answer, encoding="utf-8")
        whole = dict(os.environ if environment is None else environment)
        process = _context.Process(target=_run, args=(program, list(words), whole, folder, given, said, complained))
        process.start()
        process.join(60)
        if process.exitcode is None:
            process.kill()
            process.join()
            raise subprocess.TimeoutExpired([program, *words], 60)
        return subprocess.CompletedProcess(
            [program, *words], process.exitcode, said.read_text("utf-8"), complained.read_text("utf-8")
        )


def _run(
    program: str,
    words: Sequence[str],
    environment: Mapping[str, str],
    folder: Path,
    given: Path,
    said: Path,
    complained: Path,
) -> None:
    """In the forked process."""
    for path, number, flags in (
        (given, 0, os.O_RDONLY),
        (said, 1, os.O_WRONLY | os.O_CREAT | os.O_APPEND),
        (complained, 2, os.O_WRONLY | os.O_CREAT | os.O_APPEND),
    ):
        opened = os.open(path, flags, 0o600)
        os.dup2(opened, number)
        os.close(opened)
    sys.stdin, sys.stdout, sys.stderr = (os.fdopen(number, mode, encoding="utf-8") for number, mode in enumerate("rww"))
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(folder)
    sys.argv = [program, *words]
    sys.exit(load_entry_point(program)())
