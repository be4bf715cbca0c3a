"""`stringcourse audit` as a process against a whole running hub."""

import csv
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest

from tests.conftest import NODES, VENUE
from tests.hub.cli.conftest import Finished, Stringcourse, run
from tests.hub.live_hub import LiveHub, open_live_hub

PSU = f"psu-{NODES[0]}"


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


@pytest.fixture
def command(live: LiveHub, tmp_path: Path) -> Stringcourse:
    def call(*arguments: object) -> Finished:
        environment = {"STRINGCOURSE_HUB": live.address, "STRINGCOURSE_TOKEN": live.token}
        return run(("audit", *arguments), environment, "", tmp_path)

    return call


def rows_of(text: str, first: str) -> list[list[str]]:
    """Cells of every table row that begins with `first`."""
    return [re.split(r"\s{2,}", line.strip()) for line in text.splitlines() if line.startswith(f"{first} ")]


def test_all_figures_stand_in_two_tables_with_reasons_totals_and_cautions(command: Stringcourse) -> None:
    done = command("--venue", VENUE)
    assert (done.returncode, done.stderr) == (0, "")
    figures, told = rows_of(done.stdout, PSU)[:2]
    assert figures[:5] == [PSU, "5.0", "4.0", "3.2", "9.0"]
    assert figures[6:] == ["3.0", "only under budget"]
    assert told[:2] == [PSU, "150"]
    assert told[5:] == ["-5.8", "-97", "0.2", "3", "attention"]
    for words in (
        f"{PSU}: worst case 9.0 A exceeds the supply's 4.0 A; typical 3.0 A is within the budget of 3.2 A",
        "Verdicts: 0 within, 2 only under budget, 0 overloaded",
        "Scene peak: the highest of ",
        "Assumed:",
        "Caution:",
        "licensed electrician",
    ):
        assert words in done.stdout
    assert all(len(line) <= 100 for line in done.stdout.splitlines() if re.search(r"\S\s{2,}\S", line))


def test_each_wiring_note_has_its_remedy(command: Stringcourse, live: LiveHub) -> None:
    notes = live.call("GET", "/audit").json()["notes"]
    assert notes
    printed = command().stdout
    for note in notes:
        assert f"attention, {note['node']}/{note['channel']}, {note['supplies'][0]}:" in printed
        assert f"    {note['text']}.\n    Remedy: {note['remedy']}.\n" in printed


def test_one_supply_is_told_with_its_runs_and_feeds(command: Stringcourse) -> None:
    done = command("--supply", PSU)
    assert done.returncode == 0
    lowest, other, *feeds = rows_of(done.stdout, f"{NODES[0]}/1")
    assert (lowest[1], lowest[6]) == ("75", "3.5 V")
    assert all(re.fullmatch(r"\d\.\d\d V at 74", cell) for cell in lowest[3:6])
    assert [other[:4], feeds[0][:2]] == [[f"{NODES[0]}/1", "1", "0", PSU], [f"{NODES[0]}/1", "1"]]
    assert NODES[1] not in done.stdout
    for words in ("worst case, every emitter full", "Left at worst case: -5.8 A, -97 pixels", "Class 2"):
        assert words in done.stdout


def test_for_programs(command: Stringcourse) -> None:
    assert {one["verdict"] for one in json.loads(command("--json").stdout)["supplies"]} == {"only-under-budget"}
    alone = json.loads(command("--supply", PSU, "--json").stdout)
    assert alone["supply"]["supply"] == PSU
    assert {run["node"] for run in alone["runs"]} == {NODES[0]}


def test_documents_and_tables_are_written_at_once(command: Stringcourse, tmp_path: Path) -> None:
    done = command("--csv", "a.csv", "--feeds-csv", "f.csv", "--html", "a.html", "--pdf", "a.pdf")
    assert (done.returncode, done.stdout) == (0, "")
    assert done.stderr.splitlines() == ["wrote a.csv", "wrote f.csv", "wrote a.html", "wrote a.pdf"]
    assert sorted(file.name for file in tmp_path.iterdir()) == ["a.csv", "a.html", "a.pdf", "f.csv"]
    assert len((tmp_path / "a.csv").read_text().splitlines()) == 1 + 2
    assert len((tmp_path / "f.csv").read_text().splitlines()) == 1 + 4
    assert "Invented arcade" in (tmp_path / "a.html").read_text()
    assert "Invented arcade" in pypdf.PdfReader(tmp_path / "a.pdf").pages[0].extract_text()


def test_csv_goes_to_standard_output(command: Stringcourse) -> None:
    done = command("--csv", "-")
    assert [row["supply"] for row in csv.DictReader(io.StringIO(done.stdout))] == [f"psu-{node}" for node in NODES]


def test_document_of_one_supply(command: Stringcourse, tmp_path: Path) -> None:
    assert command("--supply", PSU, "--html", "one.html").returncode == 0
    page = (tmp_path / "one.html").read_text()
    assert f"Supply {PSU}" in page
    assert NODES[1] not in page


@pytest.mark.parametrize(
    ("arguments", "code", "word"),
    [
        (("--csv", "there.csv"), 2, "--force"),
        (("--pdf", "nowhere/a.pdf"), 2, "folder"),
        (("--html", "-"), 2, "standard output"),
        (("--csv", "x", "--feeds-csv", "x"), 2, "one FILE"),
        (("--csv", "x.csv", "--json"), 2, "--json"),
        (("--csv", "x.csv", "--supply", PSU), 2, "leave --supply out"),
        (("--supply", "attic"), 5, "no supply 'attic'"),
        (("--supply", "attic", "--pdf", "x.pdf"), 5, "no supply 'attic'"),
        (("--venue", "nowhere"), 5, "no venue"),
    ],
)
def test_wrong_use_is_told_and_nothing_is_written(
    command: Stringcourse, tmp_path: Path, arguments: tuple[str, ...], code: int, word: str
) -> None:
    there = tmp_path / "there.csv"
    there.write_text("kept")
    done = command(*arguments)
    assert (done.returncode, done.stdout) == (code, "")
    assert word in done.stderr
    assert list(tmp_path.iterdir()) == [there]
    assert there.read_text() == "kept"


def test_file_is_written_over_with_force(command: Stringcourse, tmp_path: Path) -> None:
    (tmp_path / "there.csv").write_text("old")
    assert command("--csv", "there.csv", "--force").returncode == 0
    assert (tmp_path / "there.csv").read_text().startswith("supply,")
