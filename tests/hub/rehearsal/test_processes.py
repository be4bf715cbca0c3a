"""Children of a rehearsal are led to nothing but the rehearsal's own parts."""

import sys
from pathlib import Path

import pytest

from hub.rehearsal.processes import Child


def test_database_and_broker_of_a_real_venue_are_kept_from_the_children(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STRINGCOURSE_DATABASE", "postgresql://real")
    monkeypatch.setenv("STRINGCOURSE_BROKER", "mqtt://real")
    monkeypatch.setenv("STRINGCOURSE_OTHER", "kept")
    script = "import os; print(sorted(name for name in os.environ if name.startswith('STRINGCOURSE_')))"
    child = Child("a child", [sys.executable, "-c", script], tmp_path / "child.log")
    child.start()
    child.wait_stopped(10)
    said = child.log.read_text()
    assert "STRINGCOURSE_OTHER" in said
    assert "real" not in said
    assert "STRINGCOURSE_DATABASE" not in said
    assert "STRINGCOURSE_BROKER" not in said
