"""One rehearsal of the demo venue (hub, broker, an agent process a board) and one Chromium for each file of tests."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from hub.rehearsal.rehearsal import Rehearsal
from hub.venue_file import read_venue_file
from tests.processes import free_port

ARCADE = Path(__file__).parents[2] / "deploy" / "demo" / "arcade.yaml"
SLOW_BOARD = "gable"
CHROMIUM = "/usr/bin/chromium"
CHROMIUM_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def own_ports(folder: Path) -> Path:
    """The folder of a rehearsal with ports chosen for it: rehearsals beside each other all take the usual ones else."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "ports.json").write_text(json.dumps({"api": free_port(), "broker": free_port()}))
    return folder


@pytest.fixture(scope="module")
def rehearsal(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Rehearsal]:
    """The arcade, every board in force; the board `SLOW_BOARD` refuses scenes of many layers."""
    folder = own_ports(tmp_path_factory.mktemp("rehearsal"))
    running = Rehearsal(read_venue_file(ARCADE), ARCADE, folder, slow_board=SLOW_BOARD, say=lambda _text: None)
    try:
        running.start()
        yield running
    finally:
        running.stop()


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_ARGUMENTS)
        yield chromium
        chromium.close()
