"""`stringcourse rollout`, `cue`, `go`, `back`, `blackout`, `work-light` as processes against a whole running hub."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from schemas import Cue, CueList
from tests.conftest import NODES, VENUE
from tests.hub.cli.conftest import Finished, Stringcourse, run
from tests.hub.live_hub import LiveHub, open_live_hub

EVENING = CueList(
    id="evening", title="Evening", cues=(Cue(id="doors", scene="dusk"), Cue(id="house", scene="work-light"))
)


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        opened.hub.inventory.change(VENUE, lambda venue: venue.model_copy(update={"cue_lists": (EVENING,)}))
        yield opened


@pytest.fixture
def command(live: LiveHub, tmp_path: Path) -> Stringcourse:
    live.wait_until_free()
    live.boards[1].board.refuses_scene = None
    token = live.hub.tokens.make("R. Vale")

    def call(*arguments: object) -> Finished:
        live.wait_until_free()
        return run(arguments, {"STRINGCOURSE_HUB": live.address, "STRINGCOURSE_TOKEN": token}, "", tmp_path)

    return call


def test_an_evening_by_hand(command: Stringcourse) -> None:
    started = command("cue", "start", "evening")
    assert (started.returncode, started.stdout) == (
        0,
        "cue list 'evening' is in hand; go takes cue 'doors' (scene dusk)\n",
    )
    done = command("go")
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[0] == "cue list 'evening': cue 'doors' (scene dusk); go takes cue 'house' (scene work-light)"
    assert lines[1].startswith("taken: revision ")
    dark = command("blackout")
    assert (dark.returncode, "every pixel goes dark" in dark.stdout) == (0, True)
    assert dark.stderr.startswith("CAUTION: ")
    assert "stairs" in dark.stderr
    assert "cue 'doors'" in command("back").stdout
    assert "cue 'house'" in command("go").stdout
    shown = command("cue", "show", "evening")
    assert [line.split()[:2] for line in shown.stdout.splitlines()[1:3]] == [["doors", "dusk"], ["on", "house"]]
    assert "it is the last one" in shown.stdout
    assert command("go").returncode == 6
    assert "in hand" in command("cue", "list").stdout
    assert command("cue", "stop", "evening").returncode == 0
    light = json.loads(command("work-light", "--json").stdout)
    assert (light["rollout"]["scene"], light["rollout"]["state"]) == ("work-light", "taken")


def test_dry_run_is_told_node_by_node(command: Stringcourse) -> None:
    command("scene", "take", "dusk", "--fade-ms", 0)
    done = command("rollout", "dry-run", "full-white", "--node", NODES[1], "--quorum", 1)
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[0] == "scene full-white on 1 of 2 nodes, in one batch"
    row = next(line for line in lines if line.startswith(NODES[1]))
    assert "showing: scene dusk -> scene full-white" in row
    assert lines[-1] == "nothing would change on 1 node"


def test_batches_are_followed_to_their_end_and_shown(command: Stringcourse) -> None:
    done = command("rollout", "plan", "full-white", "--batch", 1, "--fade-ms", 0)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("taken: revision ")
    revision = done.stdout.split()[2].rstrip(",")
    lines = command("rollout", "show", revision).stdout.splitlines()
    assert "asked for by R. Vale" in lines
    rows = [line.split()[:4] for line in lines if line.lstrip().startswith(("1 ", "2 "))]
    assert rows[-2:] == [["1", "1", NODES[0], "taken"], ["2", "1", NODES[1], "taken"]]


def test_rollout_that_waits_for_a_person_says_what_to_type(command: Stringcourse, live: LiveHub) -> None:
    done = command("rollout", "plan", "dusk", "--wait-for-go")
    assert done.returncode == 0, done.stderr
    revision = live.call("GET", "/rollouts").json()["items"][0]["revision"]
    assert done.stdout == (
        f"staged: revision {revision}, scene dusk; it waits for: stringcourse rollout go {revision}\n"
    )
    assert live.call("POST", f"/rollouts/{revision}/pause").status_code == 202
    assert live.call("POST", f"/rollouts/{revision}/resume").status_code == 202
    assert live.call("POST", f"/rollouts/{revision}/go").status_code == 202
    assert live.outcome(revision)["state"] == "taken"


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("rollout", "plan"), 2, "--darkness"),
        (("rollout", "plan", "dusk", "--darkness"), 2, "--darkness"),
        (("rollout", "plan", "dusk", "--batch", "some"), 2, "25%"),
        (("rollout", "plan", "dusk", "--batch", "150%"), 2, "body.batches[0].share"),
        (("rollout", "plan", "dusk", "--batch", "nan%"), 2, "--batch"),
        (("rollout", "plan", "dusk", "--quorum", "nan"), 2, "--quorum"),
        (("rollout", "plan", "dusk", "--at", "soon"), 2, "2026-11-28T18:00"),
        (("rollout", "plan", "dusk", "--at", "2020-01-01T00:00"), 2, "body.take_at_ms"),
        (("rollout", "dry-run", "dusk", "--tag", "upstairs"), 2, "body.select.tags[0]"),
        (("rollout", "plan", "noon"), 5, "noon"),
        (("rollout", "approve", "999999"), 5, "999999"),
        (("cue", "start", "none"), 5, "none"),
        (("cue", "show", "none"), 5, "cue list"),
        (("follow-timetable",), 6, "timetable"),
    ],
)
def test_wrong_use_is_told_with_its_exit_code(
    command: Stringcourse, arguments: tuple[str, ...], code: int, words: str
) -> None:
    done = command(*arguments)
    assert (done.returncode, words in done.stderr) == (code, True), done.stderr
    assert "Traceback" not in done.stderr
