"""`stringcourse rehearse` as a person runs it: its own check holds, and Ctrl-C leaves nothing behind."""

import json
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import psutil
import pytest

from tests.e2e.conftest import own_ports
from tests.known_flashes import KnownFlashes
from tests.processes import RealProcess, wait_until

PROGRAM = Path(sys.executable).parent / "stringcourse"
DEMO = Path(__file__).parents[2] / "deploy" / "demo"

Rehearse = Callable[..., RealProcess]


@pytest.fixture
def rehearse(tmp_path: Path) -> Iterator[Rehearse]:
    """`rehearse(data, file)`: the command as a process, once it is up."""
    started: list[RealProcess] = []

    def start(data: Path, file: Path = DEMO / "1-one-run.yaml") -> RealProcess:
        log = tmp_path / f"rehearse-{len(started)}.log"
        folder = data if data.exists() else own_ports(data)
        process = RealProcess([PROGRAM, "rehearse", file, "--data", folder], log)
        started.append(process)
        wait_until(lambda: "Ctrl-C stops everything" in process.output(), 60, "the rehearsal to be up")
        return process

    yield start
    for process in started:
        process.stop(20)


@pytest.mark.timeout(400)
def test_every_promise_of_the_demo_holds(tmp_path: Path, known_flashes: KnownFlashes) -> None:
    known_flashes.hand_to(tmp_path / "hub")
    command: list[str | Path] = [PROGRAM, "rehearse", DEMO / "arcade.yaml", "--data", own_ports(tmp_path)]
    command += ["--slow-board", "foyer-east", "--check"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=380, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "9 of 9 promises held" in done.stdout
    known_flashes.take_from(tmp_path / "hub")


def test_ctrl_c_stops_every_process_and_the_next_rehearsal_goes_on_from_there(
    tmp_path: Path, rehearse: Rehearse
) -> None:
    data = tmp_path / "kept"
    first = rehearse(data)
    parts = psutil.Process(first.pid).children(recursive=True)
    assert {part.name() for part in parts} >= {"nats-server"}
    assert _call(first, data, "POST", "/takes", {"scene": "passing-light", "fade_ms": 0}).status_code == 202
    wait_until(lambda: _scene(first, data) == "passing-light", 20, "the scene to be taken")
    first.send_signal(signal.SIGINT)
    _gone, left = psutil.wait_procs(parts, timeout=20)
    assert left == []

    second = rehearse(data)
    assert _scene(second, data) == "passing-light"


def test_what_it_says_to_try_works_word_for_word(tmp_path: Path, rehearse: Rehearse) -> None:
    told = rehearse(tmp_path / "data").output().partition("In another terminal:")[2]
    export, *commands = [line.strip() for line in told.splitlines() if line.startswith("    ")]
    tried = [line.replace("SCENE", "passing-light").partition("#")[0] for line in commands if "kill" not in line]
    assert len(tried) == 3
    for line in [*tried, f"{PROGRAM} finding list", f"{PROGRAM} node show first-board"]:
        done = subprocess.run(
            ["bash", "-c", f"{export}; {line}"], capture_output=True, text=True, timeout=60, check=False
        )
        assert done.returncode == 0, f"{line}: {done.stdout}{done.stderr}"


@pytest.mark.parametrize("file", ["2-two-pitches.yaml", "3-four-outputs.yaml", "4-own-supply.yaml"])
def test_the_newcomers_ladder_runs(file: str, tmp_path: Path, rehearse: Rehearse) -> None:
    assert rehearse(tmp_path / "data", DEMO / file).stop(20) == 0


def test_a_venue_file_with_mistakes_starts_nothing(tmp_path: Path) -> None:
    bad = tmp_path / "bad.yaml"
    bad.write_text((DEMO / "1-one-run.yaml").read_text().replace("supply: board-pin", "supply: bord-pin"))
    command: list[str | Path] = [PROGRAM, "rehearse", bad, "--data", tmp_path / "data"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    assert "bord-pin" in done.stderr
    assert "board-pin" in done.stderr
    assert not (tmp_path / "data").exists()


def _call(process: RealProcess, data: Path, method: str, path: str, body: object = None) -> httpx.Response:
    port = json.loads((data / "ports.json").read_text())["api"]
    token = process.output().split("#token=")[1].split()[0]
    address = f"http://127.0.0.1:{port}/api/v1/venues/first-run{path}"
    return httpx.request(method, address, json=body, headers={"Authorization": f"Bearer {token}"}, trust_env=False)


def _scene(process: RealProcess, data: Path) -> str:
    (state,) = _call(process, data, "GET", "/node-states").json()["items"]
    scene: str = state["scene"]
    return scene
