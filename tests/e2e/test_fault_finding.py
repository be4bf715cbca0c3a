"""A search for a fault on the command line: its pattern on the board's wires, the hub killed, what to carry."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from hub.rehearsal.processes import own_environment
from hub.rehearsal.rehearsal import Rehearsal
from hub.venue_file import read_venue_file
from node_agent.board import capture_file
from node_agent.outputs import read_capture
from tests.e2e.conftest import own_ports
from tests.processes import wait_until
from tests.warm_process import run_warm

FIRST_RUN = Path(__file__).parents[2] / "deploy" / "demo" / "1-one-run.yaml"
NODE = "first-board"


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[Rehearsal]:
    """One board with one run of 30 pixels, its fuse 1 A."""
    running = Rehearsal(
        read_venue_file(FIRST_RUN), FIRST_RUN, own_ports(tmp_path / "data"), slow_board=None, say=lambda _line: None
    )
    try:
        running.start()
        yield running
    finally:
        running.stop()


def command(shelf: Rehearsal, *words: str, typed: str | None = None) -> tuple[int, str]:
    """Exit code and output of a command; with `typed` at a terminal of its own, at which that is typed."""
    known = {"STRINGCOURSE_HUB": shelf.address, "STRINGCOURSE_TOKEN": shelf.token, "COLUMNS": "400"}
    environment = own_environment() | known
    if typed is None:
        done = run_warm(["stringcourse", *words], environment)
        return done.returncode, done.stdout + done.stderr
    program = str(Path(sys.executable).parent / "stringcourse")
    ours, theirs = os.openpty()
    with subprocess.Popen([program, *words], env=environment, stdin=theirs, stdout=theirs, stderr=theirs) as process:
        os.close(theirs)
        os.write(ours, typed.encode())
        said = b""
        try:
            while chunk := os.read(ours, 65_536):
                said += chunk
        except OSError:  # how a terminal of Linux says that nobody is left at its other end
            pass
        os.close(ours)
        return process.wait(60), said.decode()


def light(shelf: Rehearsal) -> NDArray[np.uint8]:
    """Codes of the newest frame on the run's wire, (pixels, 4)."""
    *_, newest = read_capture(capture_file(shelf.data_dir / "boards" / NODE / "capture", 1))
    codes: NDArray[np.uint8] = newest.decode().codes
    return codes


def shows_thirds(shelf: Rehearsal) -> bool:
    codes = light(shelf).astype(int)
    first, brightest = codes[0, :3], codes[1:, :3].argmax(axis=1)
    dark = np.sort(codes[1:, :3], axis=1)[:, :2]
    return bool(first.min() > 0 and not dark.any() and list(brightest) == [0] * 9 + [1] * 10 + [2] * 10)


def test_search_goes_on_after_the_hub_was_killed_and_ends_with_what_to_carry(shelf: Rehearsal) -> None:
    code, said = command(shelf, "fault", "find", NODE, "--symptom", "nothing-lights", "--json")
    search: dict[str, Any] = json.loads(said)
    assert (code, search["state"], search["question"]["step"]) == (1, "asking", "nothing-thirds")
    assert [(one["step"], one["hub"]) for one in search["steps"]] == [
        ("nothing-lights-heard", True), ("nothing-asked-for", True),
    ]  # fmt: skip
    assert search["question"]["pattern"]["not_shown"] is None
    wait_until(lambda: shows_thirds(shelf), 10, "the thirds on the wire")

    shelf.hub.kill()
    shelf.start_hub()
    code, said = command(shelf, "fault", "resume", search["id"], typed="nothing: seen from the street\nq\n")
    assert code == 1
    assert "Do other runs on supply board-pin light?" in said
    assert "`stringcourse fault resume 1` goes on" in said

    typed = "3\n9\nnone\nb\nnone\n1\nm\n"
    code, said = command(shelf, "fault", "resume", search["id"], typed=typed)
    assert code == 0, said
    assert "there is no answer 9; there are 4" in said
    assert said.index("arcs and burns") < said.index("What does the meter read")
    assert "A feed brings no power" in said
    assert "Power off and unplugged" in said
    assert "1 A blade, two of them" in said
    assert "mended" in said

    _, said = command(shelf, "fault", "show", search["id"], "--json")
    ended = json.loads(said)
    assert (ended["state"], ended["mended"], ended["diagnosis"]["step"]) == ("ended", True, "feed-open")
    assert ended["steps"][2]["note"] == "seen from the street"
    assert [one["answer"] for one in ended["steps"] if one["taken_back"]] == ["none"]
    code, said = command(shelf, "fault", "list", "--all")
    assert (code, NODE in said, "A feed brings no power" in said) == (0, True, True)
    assert command(shelf, "fault", "list") == (0, "no open searches\n")
    assert command(shelf, "fault", "resume", search["id"], "--answer", "not-it")[0] == 6
