"""`stringcourse wiring`: sheets as files, in each form, one node or all; nothing half-written, nothing overwritten."""

from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner

from hub.cli import application
from hub.cli.wiring import SHEETS_IN_A_PART
from hub.venue_file import read_venue_file
from hub.wiring_sheets.service import MOST_SHEETS_IN_PDF
from tests.hub.cli.conftest import Stringcourse
from tests.hub.desired.venues import row_venue
from tests.hub.edge import Edge

DEMO = Path(__file__).parents[3] / "deploy" / "demo"
FOUR = ("--venue", "four-outputs")


@pytest.fixture(autouse=True)
def _venue(edge: Edge) -> None:
    edge.inventory.load(read_venue_file(DEMO / "3-four-outputs.yaml"))


@pytest.mark.parametrize(("ending", "begins"), [("svg", b"<svg"), ("html", b"<!doctype"), ("pdf", b"%PDF")])
def test_sheet_of_a_node_is_written_in_the_form_of_its_ending(
    stringcourse: Stringcourse, tmp_path: Path, ending: str, begins: bytes
) -> None:
    done = stringcourse("wiring", "window-board", "--out", f"sheet.{ending}", *FOUR)
    assert (done.returncode, done.stderr) == (0, f"wrote sheet.{ending}\n")
    assert (tmp_path / f"sheet.{ending}").read_bytes().startswith(begins)
    assert [file.name for file in tmp_path.iterdir()] == [f"sheet.{ending}"]


def test_large_venue_becomes_one_pdf_out_of_parts(edge: Edge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Parts of two sheets, as a sheet takes the better part of a second."""
    edge.inventory.load(row_venue(nodes=3, pixels=2))
    monkeypatch.setattr("hub.cli.wiring.SHEETS_IN_A_PART", 2)
    monkeypatch.setenv("STRINGCOURSE_HUB", edge.address)
    monkeypatch.setenv("STRINGCOURSE_TOKEN", edge.token)
    file = tmp_path / "all.pdf"
    done = CliRunner().invoke(application(["wiring"]), ["wiring", "--all", "--out", str(file), "--venue", "arcade"])
    assert done.exit_code == 0, done.stderr
    assert done.stderr.splitlines() == ["sheets 1 to 2 of 3", "sheets 3 to 3 of 3", f"wrote {file}"]
    pages = PdfReader(file).pages
    assert len(pages) == 6
    assert "bay-0003" in pages[4].extract_text()


def test_parts_are_no_larger_than_the_hub_makes_them() -> None:
    assert SHEETS_IN_A_PART <= MOST_SHEETS_IN_PDF


def test_file_that_exists_is_kept_unless_forced(stringcourse: Stringcourse, tmp_path: Path) -> None:
    file = tmp_path / "sheet.svg"
    file.write_text("mine")
    refused = stringcourse("wiring", "window-board", "--out", "sheet.svg", *FOUR)
    assert (refused.returncode, file.read_text()) == (2, "mine")
    assert "--force" in refused.stderr
    assert stringcourse("wiring", "attic", "--out", "sheet.svg", "--force", *FOUR).returncode == 5
    assert file.read_text() == "mine"
    assert stringcourse("wiring", "window-board", "--out", "sheet.svg", "--force", *FOUR).returncode == 0
    assert file.read_text().startswith("<svg")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("window-board",), "--out is missing"),
        (("window-board", "--out", "sheet.png"), "ends in none of .svg, .html, .pdf"),
        (("--out", "sheet.pdf"), "name one node, or add --all"),
        (("window-board", "--all", "--out", "sheet.pdf"), "name one node, or add --all"),
        (("--all", "--out", "sheet.svg"), "one node"),
        (("window-board", "--out", "no-folder/sheet.pdf"), "make its folder first"),
    ],
)
def test_wrong_use_says_what_to_do(
    stringcourse: Stringcourse, tmp_path: Path, arguments: tuple[str, ...], words: str
) -> None:
    done = stringcourse("wiring", *arguments, *FOUR)
    assert done.returncode == 2
    assert words in done.stderr
    assert list(tmp_path.iterdir()) == []
