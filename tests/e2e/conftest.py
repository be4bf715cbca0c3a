"""One rehearsal of the demo venue (hub, broker, an agent process a board) and one Chromium for each file of tests."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

from hub.rehearsal.rehearsal import Rehearsal
from hub.venue_file import read_venue_file
from tests.known_flashes import KnownFlashes
from tests.processes import free_port

ARCADE = Path(__file__).parents[2] / "deploy" / "demo" / "arcade.yaml"
SLOW_BOARD = "gable"
TAKEN = ("evening", "every-lamp-at-once", "frost", "market-morning", "slow-tide")
"""Scenes that tests take: checked for flashes first, as it is not the check that they wait for."""
DEADLINE_MS = 15_000
OpenPage = Callable[..., Page]
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
def rehearsal(tmp_path_factory: pytest.TempPathFactory, known_flashes: KnownFlashes) -> Iterator[Rehearsal]:
    """The arcade without its timetable, every board in force; the board `SLOW_BOARD` refuses scenes of many layers."""
    folder = own_ports(tmp_path_factory.mktemp("rehearsal"))
    running = Rehearsal(
        read_venue_file(ARCADE), ARCADE, folder, slow_board=SLOW_BOARD, say=lambda _text: None, keeps_hours=False
    )
    for scene in TAKEN:
        known_flashes.report(running.venue, scene)
    known_flashes.hand_to(running.hub_dir)
    try:
        running.start()
        yield running
    finally:
        running.stop()
        known_flashes.take_from(running.hub_dir)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture
def open_page(browser: Browser, rehearsal: Rehearsal) -> Iterator[OpenPage]:
    """Opens the page with the token in its address, and `place` after it.

    Whatever else than `expected` the browser complains of fails the test.
    """
    complaints: list[str] = []
    contexts = []

    def open_at(
        width: int = 1280,
        height: int = 800,
        *,
        token: str | None = None,
        expected: str | None = None,
        place: str = "",
        **options: Any,  # noqa: ANN401 (Playwright's own)
    ) -> Page:
        def complain(text: str) -> None:
            if expected is None or expected not in text:
                complaints.append(text)

        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        contexts.append(context)
        context.set_default_timeout(DEADLINE_MS)
        page = context.new_page()
        page.on("console", lambda message: complain(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: complain(str(error)))
        page.goto(f"{rehearsal.address}/#token={rehearsal.token if token is None else token}{place}")
        return page

    expect.set_options(timeout=DEADLINE_MS)
    yield open_at
    for context in contexts:
        context.close()
    assert complaints == []
