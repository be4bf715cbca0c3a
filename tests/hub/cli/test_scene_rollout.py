"""`stringcourse scene` and `rollout` as processes against a whole running hub."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.conftest import NODES
from tests.hub.cli.conftest import Finished, Stringcourse, run
from tests.hub.live_hub import LiveHub, open_live_hub


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


@pytest.fixture
def command(live: LiveHub, tmp_path: Path) -> Stringcourse:
    live.wait_until_free()
    live.boards[1].board.refuses_scene = None

    def call(*arguments: object) -> Finished:
        environment = {"STRINGCOURSE_HUB": live.address, "STRINGCOURSE_TOKEN": live.token}
        return run(arguments, environment, "", tmp_path)

    return call


def test_scenes_are_listed_with_the_one_in_force_marked(command: Stringcourse) -> None:
    assert command("scene", "take", "dusk").returncode == 0
    rows = command("scene", "list").stdout.splitlines()
    assert [row.split()[0] for row in rows[1:]] == ["dusk", "full-white"]
    assert "in force" in rows[1]
    assert "in force" not in rows[2]


def test_take_waits_for_the_outcome_and_tells_it(command: Stringcourse, live: LiveHub) -> None:
    done = command("scene", "take", "full-white", "--fade-ms", "0")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("taken: revision ")
    assert "scene full-white" in done.stdout
    assert done.stdout.endswith("on 2 nodes\n")
    assert live.call("GET", "/rollouts").json()["items"][0]["scene"] == "full-white"


def test_darkness_must_be_meant(command: Stringcourse) -> None:
    assert command("scene", "take").returncode == 2
    assert command("scene", "take", "dusk", "--darkness").returncode == 2
    assert "darkness" in command("scene", "take", "--darkness").stdout


def test_halted_take_exits_1_and_tells_each_nodes_reason(command: Stringcourse, live: LiveHub) -> None:
    live.boards[1].board.refuses_scene = "full-white"
    done = command("scene", "take", "full-white")
    assert (done.returncode, done.stdout) == (1, "")
    assert "nothing changed on any node" in done.stderr
    row = next(line for line in done.stderr.splitlines() if line.startswith(NODES[1]))
    assert all(word in row for word in ("body.showing", "not this one", "another scene"))


def test_take_without_waiting_says_that_it_is_being_staged(command: Stringcourse, live: LiveHub) -> None:
    done = command("scene", "take", "dusk", "--no-wait", "--json")
    assert done.returncode == 0
    assert live.outcome(json.loads(done.stdout)["revision"])["state"] == "taken"


def test_going_back_and_looking_at_it(command: Stringcourse, live: LiveHub) -> None:
    command("scene", "take", "dusk")
    live.wait_until_free()
    command("scene", "take", "full-white")
    live.wait_until_free()
    back = json.loads(command("rollout", "back", "--json").stdout)
    assert (back["scene"], back["state"]) == ("dusk", "taken")
    listed = command("rollout", "show").stdout.splitlines()
    assert listed[1].split()[:3] == [str(back["revision"]), "dusk", "taken"]
    assert command("rollout", "show", back["revision"]).returncode == 0


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("scene", "take", "noon"), 5),
        (("scene", "preview", "noon"), 5),
        (("rollout", "show", "999999"), 5),
        (("scene", "take", "dusk", "--fade-ms", "-1"), 2),
    ],
)
def test_exit_code_tells_what_was_wrong(command: Stringcourse, arguments: tuple[str, ...], code: int) -> None:
    done = command(*arguments)
    assert done.returncode == code
    assert done.stderr


def test_preview_draws_each_zone_and_tells_what_the_limiter_does(command: Stringcourse) -> None:
    done = command("scene", "preview", "full-white")
    assert done.returncode == 0
    assert [line.split()[0] for line in done.stdout.splitlines() if "█" in line] == [f"zone-{node}" for node in NODES]
    row = next(line for line in done.stdout.splitlines() if line.startswith("psu-"))
    assert row.split()[1:3] == ["3.2", "9.0"]
    assert "dims to" in row
