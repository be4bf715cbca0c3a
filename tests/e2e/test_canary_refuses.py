"""A rollout whose canary refuses: halted and taken back, the front never changed; and how the operator reads it.

A running hub, three agent processes, and the command line. The first board renders too slowly for the new scene.
"""

import os
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from subprocess import CompletedProcess
from typing import Any

import pytest

from hub.app import create_app
from hub.running import RunningHub
from hub.settings import Settings
from node_agent.board import capture_file
from node_agent.outputs import CapturedFrame, read_capture
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.edge import served
from tests.processes import wait_until
from tests.warm_process import WarmProcess, run_warm

VENUE = "arcade"
CANARY, *OTHERS = NODES = ("bay-0001", "bay-0002", "bay-0003")
PIXELS_A_NODE, LAYERS = 40, 8
RATE_HZ = 20.0
AFTERWARDS_S = 1.0


def venue() -> dict[str, Any]:
    """Three boards in a steady amber; a scene of eight layers that is blue."""
    document = row_document(nodes=3, pixels=PIXELS_A_NODE // 2)
    for node in document["nodes"]:
        node["frame_rate_limit_hz"] = RATE_HZ

    def scene(name: str, colour: str, layers: int) -> dict[str, Any]:
        wash = {"zone": "band", "pattern": {"pattern": "wash", "colour": colour}}
        return {"id": name, "title": name.title(), "layers": [wash] * layers}

    document["scenes"] = [scene("dusk", "#805010", 1), scene("regatta", "#0040ff", LAYERS)]
    return document


class Front:
    """The boards' captures, and the command line against the hub."""

    def __init__(self, folder: Path, parts: ExitStack) -> None:
        running = RunningHub(Settings(data_dir=folder / "hub", broker_port=0, telemetry_interval_s=0.5))
        running.start()
        parts.callback(running.stop)
        self.hub = running.hub
        self.hub.inventory.load(venue_from(venue()))
        self._folder = folder
        for node in NODES:
            parts.enter_context(self._agent(node))
        address = parts.enter_context(served(create_app(self.hub)))
        parts.callback(running.end_streams)
        token = self.hub.tokens.make("R. Vale")
        kept = {key: value for key, value in os.environ.items() if not key.startswith("STRINGCOURSE_")}
        self._environment = kept | {"STRINGCOURSE_HUB": address, "STRINGCOURSE_TOKEN": token, "COLUMNS": "160"}
        wait_until(self._settled, 30, "the opening scene on every board, under its grant")
        wait_until(lambda: all(len(self.light(node)) == 1 for node in NODES), 20, "its fade to be over")

    def command(self, *words: object) -> CompletedProcess[str]:
        return run_warm(["stringcourse", *map(str, words)], self._environment)

    def frames(self, node: str, since_s: float) -> list[CapturedFrame]:
        """Of both channels, written from `since_s` (wall clock) on."""
        paths = (capture_file(self._folder / node / "capture", channel) for channel in (1, 2))
        return [frame for path in paths for frame in read_capture(path) if frame.written_at_s >= since_s]

    def light(self, node: str) -> set[bytes]:
        """What the node sent in the last half of a second; its runs are alike."""
        return {frame.data for frame in self.frames(node, time.time() - 0.5)}

    def _agent(self, node: str) -> WarmProcess:
        folder = self._folder / node
        credential = folder / "credential.json"
        folder.mkdir()
        credential.touch(mode=0o600)
        credential.write_text(self.hub.credentials.issue(VENUE, node).model_dump_json())
        words: list[str | Path] = ["stringcourse-node", "start", "--credential", credential]
        words += ["--state", folder / "state", "--capture", folder / "capture"]
        if node == CANARY:
            words += ["--pixel-layers-at-most", str(PIXELS_A_NODE * (LAYERS - 1))]
        return WarmProcess(words, folder / "agent.log")

    def _settled(self) -> bool:
        if not self.hub.rollouts.idle(VENUE) or self.hub.rollouts.in_force(VENUE) is None:
            return False
        states = self.hub.node_views.states(VENUE)
        unlimited = [one.limiter_scale == 1 for state in states for one in state.supplies]
        return len(unlimited) == len(NODES) and all(unlimited) and all(state.scene == "dusk" for state in states)


@pytest.fixture
def front(tmp_path: Path) -> Iterator[Front]:
    with ExitStack() as parts:
        yield Front(tmp_path, parts)


def test_canary_that_refuses_halts_the_rollout_and_the_front_never_changes(
    front: Front, capsys: pytest.CaptureFixture[str]
) -> None:
    in_force = front.hub.rollouts.in_force(VENUE)
    assert in_force is not None
    before = {node: front.light(node) for node in NODES}
    began_s = time.time()
    planned = front.command("rollout", "plan", "regatta", "--batch", 1, "--batch", "50%", "--soak", 2, "--fade-ms", 0)
    newest = front.hub.rollouts.page(VENUE, None, 1)[0].revision
    shown = front.command("rollout", "show", newest)
    with capsys.disabled():
        print(f"\n$ stringcourse rollout plan regatta --batch 1 --batch 50% --soak 2\n{planned.stderr}")
        print(f"$ stringcourse rollout show {newest}\n{shown.stdout}")

    assert (planned.returncode, planned.stdout) == (1, "")
    for told in (planned.stderr, shown.stdout):
        assert "halted" in told
        assert "reverted" in told
        assert "none of the 3 nodes ever changed" in told
        assert CANARY in told
        assert "render" in told  # what the board says is wrong
    assert "R. Vale" in shown.stdout
    assert not any(node in planned.stderr for node in OTHERS)

    ended_s = time.time()
    wait_until(lambda: time.time() > ended_s + AFTERWARDS_S, AFTERWARDS_S + 1)
    still = front.hub.rollouts.in_force(VENUE)
    assert still is not None
    assert still.prepared.scene == "dusk"
    for node in NODES:
        frames = front.frames(node, began_s)
        assert len(frames) > 2 * RATE_HZ * AFTERWARDS_S / 2
        assert {frame.data for frame in frames} == before[node]
