"""Resident memory of `stringcourse-node start` in a crossfade, without a network, from its state directory."""

import json
import sys
import tempfile
import time
from pathlib import Path

import psutil

from node_agent.board import capture_file
from node_agent.outputs import read_capture
from node_agent.store import Store
from schemas import Budget, Grant, NodeCredential, Scene, TakeTime
from schemas.fade import FADE_LIMIT_MS
from tests.bench.render_load import BUDGET_A, NODE, SUPPLY, VENUE, desired
from tests.processes import RealProcess, free_port, wait_until

AGENT = Path(sys.executable).parent / "stringcourse-node"
SETTLING_S = 5.0
_MIB = 2**20
_LIBRARIES = "import time, numpy, pydantic, paho.mqtt.client; print('ready', flush=True); time.sleep(60)"


def under_load(before: Scene, after: Scene) -> float:
    """MiB, some seconds into a crossfade from one scene to the other; frames go to capture files all the while."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        credential = _furnish(folder, before, after)
        paths: list[str | Path] = [
            "--credential",
            credential,
            "--state",
            folder / "state",
            "--capture",
            folder / "capture",
        ]
        with RealProcess([AGENT, "start", *paths], folder / "log") as agent:
            wait_until(lambda: "revision 2 taken" in agent.output(), 20, "the take")
            taken_s = time.time()
            time.sleep(SETTLING_S)
            resident = _resident_mib(agent.pid)
        last = max(frame.written_at_s for frame in read_capture(capture_file(folder / "capture", 1)))
        if last < taken_s + SETTLING_S:
            raise RuntimeError(f"the agent stopped sending frames:\n{agent.output()}")
        return resident


def of_libraries_mib() -> float:
    """MiB of what any such agent needs: the interpreter and its three libraries."""
    command = [sys.executable, "-c", _LIBRARIES]
    with tempfile.TemporaryDirectory() as name, RealProcess(command, Path(name) / "log") as process:
        wait_until(lambda: "ready" in process.output(), 20, "the imports")
        return _resident_mib(process.pid)


def _furnish(folder: Path, before: Scene, after: Scene) -> Path:
    """A state directory as a power cut leaves it in the middle of a take; the path of the credential."""
    now_ms = round(time.time() * 1_000)
    store = Store(folder / "state")
    store.take(desired(before, 1).model_copy(update={"take": TakeTime(at_ms=now_ms - 60_000)}))
    store.stage(desired(after, 2).model_copy(update={"take": TakeTime(at_ms=now_ms, fade_ms=FADE_LIMIT_MS)}))
    budgets = (Budget(supply=SUPPLY, budget_a=BUDGET_A),)
    store.keep_grant(Grant(venue=VENUE, node=NODE, number=1, supplies=budgets))
    credential = NodeCredential(
        venue=VENUE, node=NODE, broker_url=f"mqtt://127.0.0.1:{free_port()}", username="bench", secret="0" * 32
    )
    path = folder / "node.json"
    path.write_text(json.dumps(credential.model_dump()), encoding="utf-8")
    path.chmod(0o600)
    return path


def _resident_mib(pid: int) -> float:
    return float(psutil.Process(pid).memory_info().rss) / _MIB
