"""`stringcourse scene preview` as a process against a whole running hub, in a pipe and in a terminal."""

import fcntl
import json
import os
import pty
import re
import struct
import subprocess
import sys
import termios
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner

from hub.cli.application import application
from hub.cli.command_error import CommandError
from hub.cli.exit_code import ExitCode
from hub.cli.scene_figures import course
from hub.cli.scene_play import newest_frames
from hub.scenes.record import frame_record
from tests.hub.cli.conftest import Stringcourse, run
from tests.hub.live_hub import LiveHub, open_live_hub
from tests.processes import wait_until

DRAFT = """\
id: swell
title: Swell
layers:
  - zone: band
    pattern: {pattern: wave, crest: "#ffffff", trough: "#000000", wavelength_m: 200.0, speed_m_per_s: 100.0}
"""


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


@pytest.fixture
def known(live: LiveHub) -> dict[str, str]:
    return {"STRINGCOURSE_HUB": live.address, "STRINGCOURSE_TOKEN": live.token}


@pytest.fixture
def command(known: dict[str, str], tmp_path: Path) -> Stringcourse:
    return lambda *arguments: run(arguments, known, "", tmp_path)


def test_draft_in_a_file_is_previewed_with_its_amps_over_time(command: Stringcourse, tmp_path: Path) -> None:
    (tmp_path / "draft.yaml").write_text(DRAFT)
    done = command("scene", "preview", "--file", "draft.yaml")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("Swell (swell)")
    assert "over 2 s (its whole period)" in done.stdout
    rows = [line.split() for line in done.stdout.splitlines() if line.startswith("psu-")]
    assert rows[0][1:3] == ["3.2", "9.0"]
    bars = rows[0][-1]
    assert (len(bars), max(bars), min(bars)) == (24, "█", "▁")
    acting = done.stdout.split("When the limiter acts")[1]
    assert re.search(r"psu-\S+ +0\.0 +2\.0 +3[0-9]%", acting)


def test_pictures_are_written_whole_and_nothing_is_printed(command: Stringcourse, tmp_path: Path) -> None:
    names = {"png": "a.png", "gif": "a.gif", "webp": "a.webp"}
    options = [word for ending, name in names.items() for word in (f"--{ending}", name)]
    done = command("scene", "preview", "dusk", *options, "--width", 200, "--seconds", 1)
    assert (done.returncode, done.stdout) == (0, "")
    for ending, name in names.items():
        with Image.open(tmp_path / name) as image:
            assert (image.format, image.size[0]) == (ending.upper(), 200)
            # A second of the two that the scene takes; WebP joins frames that look alike.
            assert getattr(image, "n_frames", 1) in {"png": [1], "gif": [20], "webp": range(10, 21)}[ending]
    again = command("scene", "preview", "dusk", "--png", "a.png")
    assert again.returncode == 2
    assert "--force" in again.stderr


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (DRAFT.replace("zone: band", "zone: bamd"), 4, ("layers[0].zone", "'band'")),
        (DRAFT.replace("wavelength_m: 200.0", "wavelength_m: -1"), 5, ("layers[0].pattern.wavelength_m",)),
        (DRAFT + "layer: []\n", 6, ("layer", "layers")),
        ("- " + DRAFT.replace("\n", "\n  "), 1, ("without its dash",)),
        ("id: [", 2, ("YAML",)),
    ],
    ids=["zone", "range", "name", "list", "yaml"],
)
def test_mistake_in_a_draft_is_told_with_its_line(
    command: Stringcourse, tmp_path: Path, text: str, line: int, words: tuple[str, ...]
) -> None:
    (tmp_path / "draft.yaml").write_text(text)
    done = command("scene", "preview", "--file", "draft.yaml")
    assert (done.returncode, done.stdout) == (2, "")
    assert "draft.yaml" in done.stderr
    row = next(row for row in done.stderr.splitlines() if row.split()[0] == str(line))
    assert all(word in row for word in words)


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("dusk", "--file", "draft.yaml"),
        ("--file", "nowhere.yaml"),
        ("dusk", "--play", "--json"),
        ("dusk", "--png", "a.png", "--json"),
        ("dusk", "--png", "a.png", "--gif", "a.png"),
        ("dusk", "--png", "-"),
        ("dusk", "--png", "no-folder/a.png"),
        ("dusk", "--width", "10", "--png", "a.png"),
    ],
)
def test_call_that_cannot_be_meant_is_refused_before_the_hub_is_asked(arguments: tuple[str, ...]) -> None:
    done = CliRunner().invoke(application(["scene"]), ["scene", "preview", *arguments])
    code = done.exception.exit_code if isinstance(done.exception, CommandError) else done.exit_code
    assert code == ExitCode.BAD_INPUT


def test_out_of_a_terminal_play_says_what_to_do_instead(command: Stringcourse) -> None:
    done = command("scene", "preview", "dusk", "--play")
    assert (done.returncode, done.stdout) == (2, "")
    assert "--gif" in done.stderr


def _in_terminal(arguments: list[str], environment: dict[str, str]) -> tuple[int, str]:
    """Exit code and all that a terminal of 100 columns and 30 lines was sent."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 30, 100, 0, 0))
    inherited = {key: value for key, value in os.environ.items() if not key.startswith("STRINGCOURSE_")}
    terminal = {"TERM": "xterm-256color", "COLORTERM": "truecolor", "NO_COLOR": ""}
    process = subprocess.Popen(
        [sys.executable, "-m", "hub.cli", *arguments],
        env={key: value for key, value in (inherited | environment | terminal).items() if value},
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
    )
    os.close(theirs)
    sent = b""
    try:
        while chunk := _read(ours):
            sent += chunk
        return process.wait(10), sent.decode("utf-8", "replace")
    finally:
        process.kill()
        os.close(ours)


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 65_536)
    except OSError:  # how Linux tells that the other end is closed
        return b""


def test_scene_runs_in_a_terminal_for_as_long_as_asked(known: dict[str, str]) -> None:
    code, sent = _in_terminal(["scene", "preview", "dusk", "--play", "--seconds", "1.5"], known)
    assert code == 0
    # Half blocks with a colour above and one below, and the wash of the scene, a brown, among them.
    colours = {tuple(map(int, found)) for found in re.findall(r"38;2;(\d+);(\d+);(\d+);48;2;", sent)}
    assert "▀" in sent
    assert any(red > 50 and red > 1.5 * blue for red, _, blue in colours)
    # Several frames were drawn over one another, no wider than the terminal.
    assert sent.count("Dusk: Ctrl-C ends") >= 5
    plain = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", sent)
    assert max(line.count("▀") for line in plain.splitlines()) <= 100


def test_draft_that_does_not_fit_is_told_before_anything_is_drawn(known: dict[str, str], tmp_path: Path) -> None:
    file = tmp_path / "draft.yaml"
    file.write_text(DRAFT.replace("zone: band", "zone: bamd"))
    code, sent = _in_terminal(["scene", "preview", "--file", str(file), "--play"], known)
    assert code == 2
    assert "layers[0].zone" in sent
    assert "▀" not in sent


def test_ctrl_c_ends_playing_without_a_complaint(known: dict[str, str]) -> None:
    ours, theirs = pty.openpty()
    terminal = {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
    process = subprocess.Popen(
        [sys.executable, "-m", "hub.cli", "scene", "preview", "dusk", "--play"],
        env={**os.environ, **known, **terminal},
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
    )
    os.close(theirs)
    sent = bytearray()
    try:

        def drawn() -> bool:
            sent.extend(_read(ours))
            return b"Ctrl-C ends" in sent

        wait_until(drawn, 20.0, "the first frame")
        process.send_signal(2)
        while chunk := _read(ours):
            sent.extend(chunk)
        assert process.wait(10) == 0
        assert b"Traceback" not in sent
    finally:
        process.kill()
        os.close(ours)


def test_bars_tell_the_highest_of_each_part() -> None:
    assert course([0.0] * 100, 3.0) == "▁" * 24
    assert course([3.0, 0.0, 1.5], 3.0) == "█▁▅"
    spike = course([0.0] * 59 + [3.0] + [0.0] * 60, 3.0)
    assert (len(spike), spike.count("█"), spike.index("█")) == (24, 1, 11)
    assert course([0.0], 0.0) == "▁"


def test_slow_reader_draws_the_newest_frame_of_what_came_in() -> None:
    records = [frame_record(bytes([number]) * 6, float(number), 0) for number in range(4)]
    stream = b"".join(records)
    assert list(newest_frames(iter([stream[:30], stream[30:70], stream[70:]]))) == [b"\0" * 6, b"\2" * 6, b"\3" * 6]


def test_json_of_a_draft_is_the_answer_of_the_hub(command: Stringcourse, tmp_path: Path, live: LiveHub) -> None:
    (tmp_path / "draft.yaml").write_text(DRAFT)
    printed = json.loads(command("scene", "preview", "--file", "draft.yaml", "--json").stdout)
    assert printed["scene"] == "swell"
    assert [one["supply"] for one in printed["supplies"]] == [
        one["id"] for one in live.call("GET", "/supplies").json()["items"]
    ]
