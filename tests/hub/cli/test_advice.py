"""`stringcourse advice`: what needs no hub works without one; what is asked of a venue agrees with the API."""

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
    def call(*arguments: object) -> Finished:
        environment = {"STRINGCOURSE_HUB": live.address, "STRINGCOURSE_TOKEN": live.token}
        return run(arguments, environment, "", tmp_path)

    return call


@pytest.fixture
def alone(tmp_path: Path) -> Stringcourse:
    """Without a token, and with no hub where it would be looked for."""

    def call(*arguments: object) -> Finished:
        return run(arguments, {"STRINGCOURSE_HUB": "http://127.0.0.1:9"}, "", tmp_path)

    return call


@pytest.mark.parametrize(
    ("arguments", "answer"),
    [
        ("wire --length-m 6 --current-a 4.5 --volts 12", "4 mm² or 12 AWG is the smallest wire"),
        ("fuse --load-a 4.5 --wire-mm2 1.5 --volts 5", "A blade fuse of 7.5 A"),
        ("supply --load-a 9 --volts 5 --ambient-c 55", "One supply of 5 V 15 A"),
        ("frame-rate --pixels 1024 --wanted-hz 60", "Split 1024 pixels over 2 outputs"),
    ],
)
def test_advice_without_a_hub_tells_answer_formula_inputs_source_and_caution(
    alone: Stringcourse, arguments: str, answer: str
) -> None:
    done = alone("advice", *arguments.split())
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith(answer)
    assert all(f"\n{word}: " in done.stdout for word in ("Formula", "Inputs", "Source", "Checked"))
    assert "\nCaution:\n" in done.stdout


def test_where_nothing_serves_it_exits_1_with_the_reason(alone: Stringcourse) -> None:
    done = alone("advice", "fuse", "--load-a", 12, "--wire-awg", 18, "--volts", 5)
    assert done.returncode == 1
    assert "the wire may carry 10 A" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        ("wire --length-m -6 --current-a 4.5 --volts 12", "--length-m"),
        ("wire --length-m nan --current-a 4.5 --volts 12", "--length-m"),
        ("fuse --load-a 3 --volts 5", "--wire-mm2"),
        ("supply --load-a 3 --volts 230", "--volts"),
        ("frame-rate --pixels 10 --pixel-type nothing", "--pixel-type"),
        ("frame-rate --pixels 0", "--pixels"),
    ],
)
def test_bad_input_names_the_option_and_the_remedy(alone: Stringcourse, arguments: str, option: str) -> None:
    done = alone("advice", *arguments.split())
    assert (done.returncode, done.stdout) == (2, "")
    row = next(line for line in done.stderr.splitlines() if line.startswith(option))
    assert len(row) > len(option) + 20
    assert "Traceback" not in done.stderr


def test_feeds_and_brightness_of_the_venue_are_the_apis(command: Stringcourse, live: LiveHub) -> None:
    feeds = command("advice", "feeds", NODES[0], "--channel", 1, "--level", 0.5, "--json")
    assert feeds.returncode == 0
    query = {"node": NODES[0], "channel": 1, "level": 0.5}
    assert json.loads(feeds.stdout) == live.call("GET", "/advice/feeds", params=query).json()
    brightness = command("advice", "brightness", "--json")
    assert json.loads(brightness.stdout) == live.call("GET", "/advice/brightness").json()
    table = command("advice", "brightness").stdout.splitlines()
    assert table[0].split() == ["supply", "level", "decided", "by"]
    assert len([line for line in table if line.startswith("psu-")]) == 2


def test_a_channel_that_is_not_there_is_not_found(command: Stringcourse) -> None:
    done = command("advice", "feeds", NODES[0], "--channel", 4)
    assert (done.returncode, done.stdout) == (5, "")
