"""Thousands of calls that break the API document, made up by schemathesis, against a whole venue: nothing changes."""

import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from hub.rehearsal.rehearsal import Rehearsal
from hub.venue_file import read_venue_file
from tests.e2e.conftest import own_ports

FIRST_RUN = Path(__file__).parents[2] / "deploy" / "demo" / "1-one-run.yaml"
CHECKS = (
    "not_a_server_error,content_type_conformance,response_schema_conformance,status_code_conformance,"
    "negative_data_rejection"
)
ENDLESS = r"/(events|frames)$"
# A scene as a body makes 3,000 calls; one route is sent them, drafts with the venue named rightly.
SCENES = r"/previews(\.\w+)?$|/previews/flash$|/scenes/\{scene\}$"
# A plan as a body makes 200; it is sent to the route that begins one.
PLANS = r"/rollouts/dry-run$"
READ_AND_DECIDE = (
    r"/(check|takes|asks|rollouts|rollouts/\{revision\}|findings|audit|energy|energy\.csv"
    r"|node-states|elevation|preview|previews"
    r"|findings/digest|acknowledge|notes|mutes|fault-findings|answers|destinations|destinations/\{destination\}"
    r"|notices|history/\{subject_kind\}/\{subject\})$"
)
CALLS = 2_000


def _state(rehearsal: Rehearsal) -> dict[str, Any]:
    """All that a call could have changed, but for what boards measure: a busy machine makes them slow and late."""
    steady = ("online", "revision_desired", "revision_staged", "revision_showing", "scene", "refusal")
    return {
        "venue": rehearsal.call("GET", ""),
        "rollouts": rehearsal.call("GET", "/rollouts"),
        "mutes": rehearsal.call("GET", "/mutes"),
        "searches": rehearsal.call("GET", "/fault-findings"),
        "destinations": rehearsal.call("GET", "/destinations"),
        "findings": [
            one for one in rehearsal.call("GET", "/findings")["items"] if one["kind"] not in ("slow", "skewed")
        ],
        "nodes": {node: {key: state[key] for key in steady} for node, state in rehearsal.node_states().items()},
    }


@pytest.mark.timeout(400)
def test_calls_that_break_the_document_neither_crash_nor_change(tmp_path: Path) -> None:
    venue = read_venue_file(FIRST_RUN)
    rehearsal = Rehearsal(venue, FIRST_RUN, own_ports(tmp_path / "data"), slow_board=None, say=lambda _line: None)
    try:
        rehearsal.start()
        before = _state(rehearsal)
        # A call by chance costs five that cover the document; by chance are only those that get past the look-up of the
        # venue, since they name it rightly, to the rules behind it.
        everywhere = ("--exclude-path-regex", f"{ENDLESS}|{SCENES}|{PLANS}")
        made = _hostile_calls(rehearsal, tmp_path, "coverage", *everywhere)
        (tmp_path / "schemathesis.toml").write_text(f'[parameters]\n"path.venue" = "{venue.id}"\n')
        made += _hostile_calls(rehearsal, tmp_path, "coverage,fuzzing", "--include-path-regex", READ_AND_DECIDE)
        assert made >= CALLS
        assert _state(rehearsal) == before
        assert "Traceback" not in rehearsal.hub.log.read_text()
    finally:
        rehearsal.stop()


def _hostile_calls(rehearsal: Rehearsal, folder: Path, phases: str, *choice: str) -> int:
    """Calls made to the operations chosen; fails where one was answered otherwise than the document says."""
    program = shutil.which("schemathesis", path=str(Path(sys.executable).parent))
    assert program is not None
    command = [
        program, "run", f"{rehearsal.address}/api/v1/openapi.json",
        "--header", f"Authorization: Bearer {rehearsal.token}",
        "--mode", "negative",
        "--phases", phases,
        "--max-examples", "10",
        "--seed", "1",
        "--checks", CHECKS,
        "--suppress-health-check", "all",
        "--generation-database", "none",
        "--no-color",
        *choice,
    ]  # fmt: skip
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=350, check=False)
    assert done.returncode == 0, done.stdout[-5_000:]
    return int(done.stdout.split(" generated")[0].rsplit(maxsplit=1)[-1])
