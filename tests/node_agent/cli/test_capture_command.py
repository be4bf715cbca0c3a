"""`stringcourse-node capture`: what boards put on their wires, for people and for programs."""

import json
from pathlib import Path

import pytest

from tests.warm_process import run_warm


@pytest.fixture
def boards(tmp_path: Path) -> list[str]:
    """A folder of captures each: 3 and 5 pixels, lit in dim red."""
    folders = []
    for pixels in (3, 5):
        folder = tmp_path / f"board-{pixels}"
        folder.mkdir()
        words = ["stringcourse-node", "try", "--pixels", str(pixels), "--colour", "200000", "--seconds", "0.1"]
        assert run_warm([*words, "--capture", folder / "channel-1.capture"]).returncode == 0
        folders.append(str(folder))
    return folders


def test_programs_get_a_line_for_each_board_in_the_order_asked(boards: list[str]) -> None:
    done = run_warm(["stringcourse-node", "capture", *boards, "--json"])
    assert (done.returncode, done.stderr) == (0, "")
    small, large = (json.loads(line)["highest_a"] for line in done.stdout.splitlines())
    assert large == pytest.approx(small * 5 / 3, rel=0.05)  # dithered


def test_people_are_told_which_board_is_which(boards: list[str]) -> None:
    several = run_warm(["stringcourse-node", "capture", *boards]).stdout
    assert [line for line in several.splitlines() if line.endswith(":")] == [f"{folder}:" for folder in boards]
    assert boards[0] not in run_warm(["stringcourse-node", "capture", boards[0]]).stdout


def test_folder_without_captures_is_named_and_nothing_is_told_of_the_others(boards: list[str], tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    done = run_warm(["stringcourse-node", "capture", boards[0], tmp_path / "empty", "--json"])
    assert (done.returncode, done.stdout) == (2, "")
    assert f"no capture files in {tmp_path / 'empty'}" in done.stderr
