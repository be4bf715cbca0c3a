"""`stringcourse timetable` as a process against a running hub."""

import json
from pathlib import Path

import pytest
from icalendar import Calendar

from tests.hub.cli.conftest import Finished, Stringcourse, run
from tests.hub.live_hub import LiveHub

FILE = """\
entries:
  - id: evening
    title: Evenings
    scene: dusk
    begins: sunset
    ends: "23:00"
    weekdays: [thu, fri]
    flash_confirmed_by: A. Warden (invented)
  - {id: late, scene: null, begins: "22:00", ends: "22:30", dates: [2031-05-02]}
"""


@pytest.fixture
def stringcourse(live: LiveHub, tmp_path: Path) -> Stringcourse:
    (tmp_path / "timetable.yaml").write_text(FILE)

    def call(*arguments: object) -> Finished:
        known = {"STRINGCOURSE_HUB": live.address, "STRINGCOURSE_TOKEN": live.token}
        return run(("timetable", *arguments), known, "", tmp_path)

    return call


@pytest.fixture
def given(stringcourse: Stringcourse) -> None:
    done = stringcourse("set", "timetable.yaml")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("The timetable has 2 entries now")


@pytest.mark.usefixtures("given")
def test_show_lists_entries_and_its_json_is_what_set_takes(stringcourse: Stringcourse, tmp_path: Path) -> None:
    lines = stringcourse("show").stdout.splitlines()
    assert lines[1].split() == ["evening", "dusk", "sunset", "23:00", "thu,", "fri", "3.0", "Evenings"]
    assert lines[2].split() == ["late", "darkness", "22:00", "22:30", "2031-05-02", "3.0", "–"]
    shown = stringcourse("show", "--json").stdout
    (tmp_path / "again.json").write_text(shown)
    assert stringcourse("set", "again.json").returncode == 0
    assert stringcourse("show", "--json").stdout == shown


@pytest.mark.usefixtures("given")
def test_why_takes_local_time_and_tells_in_sentences(stringcourse: Stringcourse) -> None:
    done = stringcourse("why", "--at", "2031-05-02T22:10")
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert lines[0] == "2031-05-02T22:10:00+02:00 Europe/Vienna: darkness"
    assert lines[1].startswith("late, darkness, from Fri 02 May 2031 22:00:00 (22:00) to Fri 02 May 2031 22:30:00")
    assert "evening covers this time, too: dates of its own win over days without a range." in lines
    assert "Next, Fri 02 May 2031 22:30:00: evening, scene dusk (end of late; Friday is one of its weekdays)." in lines
    assert json.loads(stringcourse("why", "--json").stdout)["time_zone"] == "Europe/Vienna"


@pytest.mark.usefixtures("given")
def test_month_is_a_table_of_days(stringcourse: Stringcourse) -> None:
    lines = stringcourse("month", "2031-05").stdout.splitlines()
    assert lines[0] == "2031-05, Europe/Vienna"
    friday = next(line for line in lines if line.startswith("Fri 2031-05-02"))
    assert "22:00–22:30 late (darkness); 22:30–23:00 evening (dusk)" in friday


@pytest.mark.usefixtures("given")
def test_export_writes_a_calendar_and_not_over_a_file(stringcourse: Stringcourse, tmp_path: Path) -> None:
    assert stringcourse("export", "week.ics", "--days", "7").returncode == 0
    assert len(Calendar.from_ical((tmp_path / "week.ics").read_bytes()).events) >= 2
    again = stringcourse("export", "week.ics")
    assert again.returncode == 2
    assert "--force" in again.stderr


@pytest.mark.parametrize(
    ("text", "line", "word"),
    [
        (FILE.replace("sunset", "dusk"), "5", "time of day"),
        (FILE.replace("scene: dusk", "scene: dsk"), "4", "did you mean 'dusk'"),
        (FILE.replace("entries:", "entry:"), "1", "entries"),
        ("- a", "1", "entries"),
    ],
)
def test_mistakes_of_a_file_are_told_with_their_lines(
    stringcourse: Stringcourse, tmp_path: Path, text: str, line: str, word: str
) -> None:
    (tmp_path / "timetable.yaml").write_text(text)
    done = stringcourse("set", "timetable.yaml")
    assert (done.returncode, done.stdout) == (2, "")
    assert word in done.stderr
    assert any(one.split()[:1] == [line] for one in done.stderr.splitlines()), done.stderr


def test_time_that_cannot_be_read_is_told(stringcourse: Stringcourse) -> None:
    done = stringcourse("why", "--at", "tomorrow")
    assert done.returncode == 2
    assert "2031-05-01T19:30" in done.stderr
