"""Thousands of calls that break the API document, made up by schemathesis: none crashes the hub or changes a venue."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from hub.venue_file import read_venue_file
from tests.hub.edge import Edge
from tests.hub.venue_file.test_reading import GOOD

# Rooms that need a broker are tested with one, elsewhere.
INVENTORY = r"/venues(/\{venue\}(/(export|supplies|nodes|zones|scenes|pixel-types)(/\{[a-z_]+\})?)?|/check)?$"
CHECKS = "not_a_server_error,content_type_conformance,response_schema_conformance,status_code_conformance"


@pytest.mark.timeout(300)
def test_calls_that_break_the_document_neither_crash_nor_change(edge: Edge, tmp_path: Path) -> None:
    kiosk = read_venue_file(GOOD)
    edge.inventory.load(kiosk)
    program = shutil.which("schemathesis", path=str(Path(sys.executable).parent))
    assert program is not None
    done = subprocess.run(
        [
            program, "run", f"{edge.address}/api/v1/openapi.json",
            "--header", f"Authorization: Bearer {edge.token}",
            "--include-path-regex", INVENTORY,
            "--mode", "negative",
            "--phases", "coverage,fuzzing",
            "--max-examples", "8",
            "--seed", "1",
            "--checks", CHECKS,
            "--suppress-health-check", "all",
            "--generation-database", "none",
            "--no-color",
        ],
        cwd=tmp_path, capture_output=True, text=True, timeout=280, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-5_000:]
    made = int(done.stdout.split(" generated")[0].rsplit(maxsplit=1)[-1])
    assert made > 1_000
    assert edge.inventory.venue("kiosk") == kiosk
