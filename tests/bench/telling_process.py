"""A process of a benchmark that tells what it does in lines of JSON, and ends when its standard input is closed."""

import json
import os
import subprocess
import sys
import threading
from collections.abc import Mapping
from queue import Queue
from typing import Any

from hub.parent_death import END_WITH_PARENT


class TellingProcess:
    """`module` with `arguments`, begun at once; `environment` is added to this process's own."""

    def __init__(self, module: str, arguments: list[str], environment: Mapping[str, str] | None = None) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", module, *arguments],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, **(environment or {})},
            start_new_session=True,  # Ctrl-C is for the benchmark, which ends it
            preexec_fn=END_WITH_PARENT,
        )
        self._lines: Queue[dict[str, Any]] = Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def line(self, deadline_s: float) -> dict[str, Any]:
        """The next line; raises queue.Empty when none comes in time."""
        return self._lines.get(timeout=deadline_s)

    def stop(self) -> None:
        assert self._process.stdin is not None
        self._process.stdin.close()
        try:
            self._process.wait(60)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()

    def _read(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            self._lines.put(json.loads(line))
