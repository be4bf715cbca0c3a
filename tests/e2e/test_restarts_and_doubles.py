"""Real agents on a real broker: one that is killed again and again, then a second board with its credential.

Each is told for what it is, by the boot ids of births and by what the agent's own disk says of its end.
"""

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from hub.health.kinds import FindingKind
from hub.health.rules.restarting import RESTARTS
from hub.health.table import FindingFilter
from hub.health.view import FindingView
from hub.running import RunningHub
from hub.settings import Settings
from hub.venue_file import read_venue_file
from tests.processes import RealProcess, free_port, wait_until
from tests.warm_process import WarmProcess

VENUE_FILE = Path(__file__).parents[2] / "deploy" / "demo" / "1-one-run.yaml"
VENUE, NODE = "first-run", "first-board"
DISTURBED = (FindingKind.RESTARTING, FindingKind.DOUBLE_IDENTITY, FindingKind.FLAPPING)


@pytest.fixture
def hub(tmp_path: Path) -> Iterator[RunningHub]:
    """With its node's credential in `credential.json`."""
    settings = Settings(
        data_dir=tmp_path / "hub", broker_port=free_port(), telemetry_interval_s=0.5, broker_host="127.0.0.1"
    )
    running = RunningHub(settings)
    running.start()
    running.hub.inventory.load(read_venue_file(VENUE_FILE))
    credential = tmp_path / "credential.json"
    credential.touch(mode=0o600)
    credential.write_text(running.hub.credentials.issue(VENUE, NODE).model_dump_json())
    yield running
    running.stop()


def start_board(folder: Path, board: str) -> RealProcess:
    words: list[str | Path] = ["stringcourse-node", "start", "--credential", folder / "credential.json"]
    words += ["--state", folder / board, "--capture", folder / f"{board}-capture"]
    return WarmProcess(words, folder / f"{board}.log")


def told(hub: RunningHub) -> dict[FindingKind, FindingView]:
    """What is open of the kinds that births tell."""
    found = hub.hub.health.findings(VENUE, FindingFilter(open=True), None, 100)
    return {one.kind: one for one in found if one.kind in DISTURBED}


def test_restarts_and_a_second_board_are_told_for_what_they_are(hub: RunningHub, tmp_path: Path) -> None:
    def starts() -> int:
        (state,) = hub.hub.node_views.states(VENUE)
        return 0 if state.board is None else state.board.starts

    with ExitStack() as parts:
        for start in range(RESTARTS + 1):
            assert told(hub) == {}, f"after {start} starts"
            board = start_board(tmp_path, "board")
            parts.callback(board.stop)
            wait_until(lambda start=start: starts() == start + 1, 30, "the board's word of its start")  # type: ignore[misc]
            if start < RESTARTS:
                board.kill()
        restarting = wait_until(lambda: told(hub).get(FindingKind.RESTARTING), 25, "the restarts to be told")
        assert restarting.evidence["start_cause"] == "crash"
        assert restarting.evidence["restarts"] == RESTARTS
        assert "agent" in restarting.likely_cause

        parts.callback(start_board(tmp_path, "twin").stop)
        double = wait_until(lambda: told(hub).get(FindingKind.DOUBLE_IDENTITY), 30, "the second board to be told")
        assert double.evidence["boards"] == RESTARTS + 2
        assert set(told(hub)) == {FindingKind.RESTARTING, FindingKind.DOUBLE_IDENTITY}, "and nothing beside"
