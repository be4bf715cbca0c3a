"""Flash checks and named confirmations over a whole running hub, by API and by command line."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.hub.cli.conftest import Finished, run
from tests.hub.live_hub import LiveHub, open_live_hub

NAME = "Invented Warden"


def _pulse(half_s: float) -> dict[str, Any]:
    pattern = {
        "pattern": "pulse", "high": "#ffffff", "rise_s": 0, "hold_s": half_s, "fall_s": 0, "rest_s": half_s,
    }  # fmt: skip
    return {"id": "blink", "title": "Blink", "layers": [{"zone": "band", "pattern": pattern}]}


BLINK = _pulse(0.1)


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        added = opened.call("PUT", "/scenes/blink", json=BLINK, headers={"If-None-Match": "*"})
        assert added.status_code == 201, added.text
        opened.wait_until_free()
        yield opened


def _command(live: LiveHub, folder: Path, *arguments: object) -> Finished:
    return run(arguments, {"STRINGCOURSE_HUB": live.address, "STRINGCOURSE_TOKEN": live.token}, "", folder)


def test_report_tells_verdict_place_and_slowest_setting(live: LiveHub) -> None:
    report = live.call("GET", "/scenes/blink/flash").json()
    assert (report["verdict"], report["scene"], report["distance_m"]) == ("fails", "blink", 5.0)
    assert report["findings"][0]["flashes_a_second"] == 5
    assert report["slow_down"] == pytest.approx(0.6, rel=0.02)
    assert "screens" in report["estimate"]
    assert "seizures" in report["caution"]
    assert live.call("GET", "/scenes/dusk/flash").json()["verdict"] == "passes"


def test_far_enough_away_it_passes(live: LiveHub) -> None:
    report = live.call("GET", "/scenes/blink/flash", params={"distance_m": 60}).json()
    assert (report["verdict"], report["distance_m"]) == ("passes", 60.0)


def test_draft_is_checked_and_not_kept(live: LiveHub) -> None:
    report = live.call("POST", "/previews/flash", json=_pulse(0.05) | {"id": "draft"})
    assert report.json()["findings"][0]["flashes_a_second"] >= 9
    assert live.call("GET", "/scenes/draft").status_code == 404
    elsewhere = json.loads(json.dumps(_pulse(0.05)).replace("band", "nowhere"))
    refused = live.call("POST", "/previews/flash", json=elsewhere)
    assert refused.status_code == 422
    assert refused.json()["mistakes"][0]["field"] == "body.layers[0].zone"


@pytest.mark.parametrize("distance", ["0", "nan", "1e9", "near"])
def test_bad_distance_is_refused(live: LiveHub, distance: str) -> None:
    answer = live.call("GET", "/scenes/blink/flash", params={"distance_m": distance})
    assert answer.status_code == 422
    assert answer.json()["mistakes"][0]["field"] == "query.distance_m"


def test_unknown_scene_is_not_found(live: LiveHub) -> None:
    assert live.call("GET", "/scenes/noon/flash").status_code == 404


def test_take_needs_a_name_and_the_name_stays_visible(live: LiveHub, tmp_path: Path) -> None:
    before = live.call("GET", "/rollouts").json()["items"][0]["revision"]
    refused = live.call("POST", "/takes", json={"scene": "blink"})
    assert refused.status_code == 409
    (mistake,) = refused.json()["mistakes"]
    assert mistake["field"] == "body.flash_confirmed_by"
    assert "time_scale" in mistake["remedy"]
    assert live.call("GET", "/rollouts").json()["items"][0]["revision"] == before

    by_command = _command(live, tmp_path, "scene", "take", "blink")
    assert by_command.returncode == 6
    assert "flash_confirmed_by" in by_command.stderr

    done = _command(live, tmp_path, "scene", "take", "blink", "--flash-confirmed-by", NAME)
    assert done.returncode == 0, done.stderr
    assert NAME in done.stderr
    live.wait_until_free()
    assert live.call("GET", "/rollouts").json()["items"][0]["flash_confirmed_by"] == NAME
    assert NAME in _command(live, tmp_path, "rollout", "show").stdout
    assert NAME in _command(live, tmp_path, "scene", "list").stdout


@pytest.mark.parametrize("name", ["", "   ", "a" * 81, "two\nlines", "\u001b[31m"])
def test_a_name_is_a_line_of_text(live: LiveHub, name: str) -> None:
    answer = live.call("POST", "/takes", json={"scene": "blink", "flash_confirmed_by": name})
    assert answer.status_code == 422
    assert answer.json()["mistakes"][0]["field"] == "body.flash_confirmed_by"


def test_command_tells_the_report_and_exits_by_the_verdict(live: LiveHub, tmp_path: Path) -> None:
    failing = _command(live, tmp_path, "scene", "flash", "blink")
    assert failing.returncode == 1
    assert "WCAG 2.2 SC 2.3.1" in failing.stdout
    assert "ITU-R BT.1702" in failing.stdout
    assert "time_scale times 0.6" in failing.stdout
    assert "CAUTION" in failing.stderr
    passing = _command(live, tmp_path, "scene", "flash", "dusk", "--json")
    assert passing.returncode == 0
    assert json.loads(passing.stdout)["verdict"] == "passes"
