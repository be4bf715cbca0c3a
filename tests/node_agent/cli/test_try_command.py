"""`stringcourse-node try`, as a person at a board runs it: a real process, its words, its exit code."""

import signal
import subprocess
import sys
import time
from importlib.util import find_spec
from pathlib import Path

import pytest

from node_agent.outputs import DecodedClocked, read_capture
from tests.warm_process import run_warm

HOUSE = Path(__file__).parents[3]
COMMAND = [sys.executable, "-c", "import sys; from node_agent.cli import main; sys.exit(main())", "try"]


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    return run_warm(["stringcourse-node", "try", *arguments])


def test_it_tells_what_the_run_draws_and_how_fast_it_is_before_it_lights(tmp_path: Path) -> None:
    done = run("--pixels", "150", "--capture", str(tmp_path / "x"), "--budget-a", "3.2", "--seconds", "0.2")
    assert done.returncode == 0, done.stderr
    for words in ("9.00 A", "3.00 A", "3.20 A", "4.55 ms", "219.6 frames/s", "safe only because every frame is held"):
        assert words in done.stdout


def test_clocked_pixels_can_be_tried_too(tmp_path: Path) -> None:
    path = tmp_path / "x"
    done = run("--pixels", "20", "--pixel-type", "rgb-5v-clocked", "--capture", str(path), "--seconds", "0.2")
    assert done.returncode == 0, done.stderr
    assert "the port's clock goes to the pixels beside the data" in done.stdout
    frames = list(read_capture(path))
    assert all(isinstance(frame.decode(), DecodedClocked) for frame in frames)
    assert frames[0].decode().codes.any()
    assert not frames[-1].decode().codes.any()


def test_it_cautions_where_the_wires_are_handled(tmp_path: Path) -> None:
    said = run("--pixels", "3", "--capture", str(tmp_path / "x"), "--seconds", "0.1").stdout
    for words in (
        "Power off first",
        "Polarity",
        "Common ground",
        "Direction",
        "Fuse",
        "licensed electrician",
        "local code",
    ):
        assert words in said
        assert words in run("--help").stdout


def test_without_a_budget_it_holds_what_a_boards_own_pin_may_carry(tmp_path: Path) -> None:
    done = run("--pixels", "150", "--capture", str(tmp_path / "x"), "--colour", "ffffff", "--seconds", "0.2")
    assert "the budget is 0.60 A" in done.stdout
    for frame in read_capture(tmp_path / "x"):
        assert 150 * 0.0009 + float(frame.decode().codes.sum()) / 255 * 0.0197 <= 0.6


def test_a_run_whose_dark_pixels_exceed_the_budget_is_said_to_stay_black(tmp_path: Path) -> None:
    done = run("--pixels", "1000", "--capture", str(tmp_path / "x"), "--seconds", "0.1")
    assert "THE RUN STAYS BLACK" in done.stdout
    assert "--budget-a" in done.stdout


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_it_dark(number: signal.Signals, tmp_path: Path) -> None:
    path = tmp_path / "run.capture"
    process = subprocess.Popen(
        [*COMMAND, "--pixels", "30", "--capture", str(path), "--seconds", "600"],
        cwd=HOUSE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with process:
        deadline_s = time.monotonic() + 30
        while not (path.exists() and any(read_capture(path))) and time.monotonic() < deadline_s:
            time.sleep(0.02)
        process.send_signal(number)
        said, _ = process.communicate(timeout=30)
    assert process.returncode == 0
    assert "The run is dark." in said
    frames = list(read_capture(path))
    assert frames[0].decode().codes.any()
    assert not frames[-1].decode().codes.any()


@pytest.mark.parametrize(
    ("arguments", "error"),
    [
        (["--capture", "x"], "the following arguments are required: --pixels"),
        (["--pixels", "0", "--capture", "x"], "argument --pixels: '0'; give a whole number from 1 to 4096"),
        (["--pixels", "4097", "--capture", "x"], "argument --pixels: '4097'; give a whole number from 1 to 4096"),
        (["--pixels", "9" * 5000, "--capture", "x"], "give a whole number from 1 to 4096"),
        (["--pixels", "3"], "one of the arguments --pin --capture is required"),
        (["--pixels", "3", "--pin", "gpio18"], "pin gpio18: names no SPI port; write spidevB.C"),
        pytest.param(
            ["--pixels", "3", "--pin", "spidev250.7"],
            "enable SPI in the board's configuration",
            marks=pytest.mark.skipif(find_spec("spidev") is None, reason="the SPI driver is not installed"),
        ),
        (["--pixels", "3000", "--pin", "spidev250.7"], "add spidev.bufsiz=65536 to the kernel's command line"),
        (["--pixels", "3", "--capture", "/absent/x"], "capture /absent/x: cannot be written"),
        (["--pixels", "3", "--capture", "x", "--budget-a", "nan"], "argument --budget-a: 'nan'; give amps from"),
        (["--pixels", "3", "--capture", "x", "--seconds", "-1"], "argument --seconds: '-1'; give seconds from"),
        (["--pixels", "3", "--capture", "x", "--colour", "red"], "argument --colour: 'red'; give six hexadecimal"),
        (
            ["--pixels", "3", "--capture", "x", "--pattern", "wave", "--colour", "ff0000"],
            "argument --colour: wave takes 2, 1 given",
        ),
        (["--pixels", "3", "--capture", "x", "--pixel-type", "y"], "argument --pixel-type: invalid choice: 'y'"),
    ],
)
def test_a_wrong_command_line_names_the_field_and_the_remedy_and_exits_2(arguments: list[str], error: str) -> None:
    done = run(*arguments)
    assert done.returncode == 2
    assert error in done.stderr
    assert done.stdout == ""


def test_the_help_teaches_by_example() -> None:
    said = run("--help").stdout
    assert "stringcourse-node try --pixels 30 --capture" in said
    for pattern in ("wash", "spot", "gradient", "chase", "wave", "twinkle"):
        assert pattern in said
