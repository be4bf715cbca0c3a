"""`stringcourse finding` as a process against a real server."""

import json
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.hub.cli.conftest import Finished, Stringcourse, run
from tests.hub.health.served_findings import FOYER, ON_SUPPLY, ServedFindings, serve_findings


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedFindings]:
    with serve_findings(tmp_path_factory.mktemp("hub"), time.time()) as served:
        served.fleet.cut([*ON_SUPPLY, FOYER[0]])
        served.fleet.pass_time(5.0)
        yield served


@pytest.fixture
def command(served: ServedFindings, tmp_path: Path) -> Stringcourse:
    token = served.tokens.make("Ada")

    def call(*arguments: object) -> Finished:
        known = {"STRINGCOURSE_HUB": served.address, "STRINGCOURSE_TOKEN": token, "COLUMNS": "300"}
        return run(("finding", *arguments), known, "", tmp_path)

    return call


def test_life_of_a_finding_by_hand(command: Stringcourse) -> None:
    told = command("list")
    assert told.returncode == 1, told.stderr
    assert "supply psu-3" in told.stdout
    assert "8 nodes fell silent together" in told.stdout
    parent, alone = json.loads(command("list", "--json").stdout)
    shown = command("show", parent["id"]).stdout
    assert "licensed electrician" in shown
    assert shown.index("Caution: ") < shown.index("Next check: ")
    assert all(name in shown for name in ON_SUPPLY)
    assert command("acknowledge", alone["id"], "--note", "on my way").stdout.startswith(
        f"finding {alone['id']} acknowledged: "
    )
    assert command("note", alone["id"], "fuse F2 was open").returncode == 0
    history = [line.split() for line in command("show", alone["id"]).stdout.splitlines()]
    assert [line[2:4] for line in history if line[2:3] in (["acknowledged"], ["noted"])] == [
        ["acknowledged", "Ada"],
        ["noted", "Ada"],
    ]
    assert "2 findings opened" in command("digest").stdout


def test_planned_work_by_hand(command: Stringcourse) -> None:
    made = command("mute", "--zone", "foyer", "--for", "2h", "--reason", "new fascia", "--json")
    assert made.returncode == 0, made.stderr
    mute = json.loads(made.stdout)
    assert mute["until_ms"] - mute["from_ms"] == pytest.approx(7_200_000, abs=60_000)
    assert "new fascia" in command("mutes").stdout
    assert json.loads(command("list", "--state", "muted", "--json").stdout)[0]["node"] == FOYER[0]
    assert command("unmute", mute["id"]).stdout == f"mute {mute['id']} lifted\n"
    assert json.loads(command("mutes", "--json").stdout) == []


@pytest.mark.parametrize(
    ("arguments", "code", "word"),
    [
        (("show", "999"), 5, "there is no finding"),
        (("mute", "--reason", "r"), 2, "--until or by --for"),
        (("mute", "--reason", "r", "--for", "soon"), 2, "90m, 12h or 7d"),
        (("mute", "--reason", "r", "--until", "noon"), 2, "2026-11-28T18:00"),
        (("mute", "--reason", "r", "--for", "1h", "--node", "bay-99"), 2, "bay-99"),
        (("unmute", "999"), 5, "there is no mute"),
        (("digest", "--day", "1.1."), 2, "YYYY-MM-DD"),
    ],
)
def test_mistakes_name_the_remedy(command: Stringcourse, arguments: tuple[str, ...], code: int, word: str) -> None:
    done = command(*arguments)
    assert (done.returncode, word in done.stderr) == (code, True), done.stderr
