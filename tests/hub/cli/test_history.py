"""`stringcourse history` as a process against a real server."""

import json
import time
from pathlib import Path

import pytest

from hub.cli.history_chart import chart
from tests.hub.cli.conftest import Stringcourse
from tests.hub.edge import Edge
from tests.hub.energy.told import FIRST, VENUE, shared_venue
from tests.hub.history.told import Played, drawing


@pytest.fixture(autouse=True)
def told(edge: Edge) -> None:
    """A message two minutes ago."""
    edge.inventory.load(shared_venue())
    played = Played(edge.engine)
    played.tell(time.time() - 120, FIRST, **drawing(amps=1.25))
    played.service.write()


def test_chart_of_letters() -> None:
    lines = list(chart([0.0, None, 2.0], [1.0, None, 2.0], [4.0, None, 2.0]))
    assert lines == ["4 |", "  |", "  |", "  |", "  | o", "  |", "  o", "  |", "0 |"]


def test_chart_of_what_never_changes_is_a_line_with_its_figure() -> None:
    assert [line for line in chart([2.5, 2.5], [2.5, 2.5], [2.5, 2.5]) if line] == ["2.5 oo"]


def test_node_with_its_unit_and_times(stringcourse: Stringcourse) -> None:
    done = stringcourse("history", FIRST, "--venue", VENUE, "--since", "30m")
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert lines[0].startswith(f"{FIRST}: ")
    assert lines[0].endswith(", A")
    assert "1.25" in done.stdout
    assert "each column" in lines[-2]


def test_json_and_csv(stringcourse: Stringcourse, tmp_path: Path) -> None:
    found = json.loads(stringcourse("history", "--venue", VENUE, "--quantity", "nodes-online", "--json").stdout)
    assert (found["subject_kind"], found["quantities"][0]["quantity"]) == ("venue", "nodes-online")
    done = stringcourse("history", FIRST, "--venue", VENUE, "--csv", "day.csv")
    assert (done.returncode, done.stdout) == (0, "")
    assert (tmp_path / "day.csv").read_text().splitlines()[0] == "at,amps low (A),amps mean (A),amps high (A)"


@pytest.mark.parametrize(
    ("arguments", "code", "word"),
    [
        ((FIRST, "--since", "week"), 2, "7d"),
        ((FIRST, "--since", "99999d"), 2, "3652d"),
        ((FIRST, "--quantity", "budget"), 2, "choose from"),
        (("--supply",), 2, "id of a supply"),
        ((FIRST, "--csv", "-", "--json"), 2, "exclude"),
        (("none-such",), 5, "none-such"),
    ],
)
def test_mistakes_name_a_remedy(stringcourse: Stringcourse, arguments: tuple[str, ...], code: int, word: str) -> None:
    done = stringcourse("history", *arguments, "--venue", VENUE)
    assert done.returncode == code
    assert word in done.stderr
