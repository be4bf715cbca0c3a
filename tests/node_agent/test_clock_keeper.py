"""What of show time outlives a power cut, and how rarely the card is written for it."""

from pathlib import Path

import pytest

from node_agent.clock_keeper import (
    FIRST_KEPT_AFTER_S,
    KEEP_EVERY_S,
    KEPT_AT_TAKES_EVERY_S,
    LOOK_EVERY_S,
    ClockKeeper,
)
from node_agent.store import CLOCK, Store
from tests.node_agent.clock.clocks import Clocks


class Board:
    """A board without a battery for its clock: after each start the wall clock stands at 1970."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.clocks = Clocks(ahead_s=1_700_000_000.0, drift=100e-6)
        self.start()

    def start(self) -> None:
        self.clocks.wall_ahead_s = -self.clocks.now_s
        self.clocks.restarted()
        self.store = Store(self.folder)
        self.keeper = ClockKeeper(self.clocks.clock, self.store, lambda: self.clocks.now_s)
        self.keeper.restore()

    def run(self, seconds: float, *, hub: bool) -> int:
        """Runs for so long; how often the card was written."""
        written, before = 0, None
        for number in range(int(seconds / LOOK_EVERY_S)):
            if hub and number % 6 == 0:
                self.clocks.exchange()
            self.keeper.tend()
            kept = self.store.clock
            written += kept != before
            before = kept
            self.clocks.wait(LOOK_EVERY_S)
        return written


def test_show_time_is_kept_soon_and_then_seldom(tmp_path: Path) -> None:
    board = Board(tmp_path)
    assert board.run(FIRST_KEPT_AFTER_S, hub=False) == 0, "nothing vouches for 1970"
    assert board.run(LOOK_EVERY_S, hub=True) == 1
    assert board.run(6 * KEEP_EVERY_S, hub=True) in (6, 7)


def test_after_a_power_cut_the_last_known_time_goes_on_with_its_drift_until_the_hub_is_there(tmp_path: Path) -> None:
    board = Board(tmp_path)
    board.run(4 * KEEP_EVERY_S, hub=True)
    board.keeper.keep()
    cut_s = board.clocks.hub_s()
    for _ in range(2):
        board.clocks.wait(900.0)
        board.start()
        assert board.clocks.clock.source == "kept"
        began_s = board.clocks.clock.show_s()
        assert cut_s - 1 <= began_s <= cut_s + 1, "how long the power was off nobody can know"
        board.run(2 * KEEP_EVERY_S, hub=False)
        assert board.clocks.clock.show_s() - began_s == pytest.approx(2 * KEEP_EVERY_S * (1 + 100e-6), abs=0.02)
        board.keeper.keep()
        cut_s = board.clocks.clock.show_s()
    board.clocks.exchange()
    assert board.clocks.clock.source == "hub"
    assert board.clocks.error_s() == pytest.approx(0, abs=1e-3)


def test_moment_of_a_scene_is_kept_for_a_power_cut_soon_after_but_not_of_each_in_quick_succession(
    tmp_path: Path,
) -> None:
    board = Board(tmp_path)
    board.run(2 * FIRST_KEPT_AFTER_S, hub=True)
    kept = []
    for _ in range(3):
        board.clocks.wait(KEPT_AT_TAKES_EVERY_S * 0.7)
        began_ms = board.clocks.clock.show_s() * 1_000
        board.keeper.scene_began()
        assert board.store.clock is not None
        kept.append(board.store.clock.show_time_ms == int(began_ms))
    assert kept == [True, False, True]
    board.start()
    assert board.clocks.clock.show_s() * 1_000 == pytest.approx(began_ms, abs=1)


def test_damaged_file_is_set_aside_and_told(tmp_path: Path) -> None:
    board = Board(tmp_path)
    board.run(2 * FIRST_KEPT_AFTER_S, hub=True)
    (tmp_path / CLOCK).write_bytes(b"\0" * 80)
    store = Store(tmp_path)
    assert store.clock is None
    assert CLOCK in (store.damaged_state or "")


def test_disk_that_takes_nothing_more_is_told_once(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    board = Board(tmp_path / "state")
    (tmp_path / "state" / f".{CLOCK}.writing").mkdir()
    board.run(3 * KEEP_EVERY_S, hub=True)
    assert caplog.text.count("show time is not kept") == 1
