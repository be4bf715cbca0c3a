"""Why the agent runs anew."""

import logging
from pathlib import Path

import pytest

from node_agent.board_figures import KeptStarts, StartRecord
from node_agent.board_figures.starts import cause_of
from node_agent.store import STARTS, Store
from tests.node_agent.board_figures.trees import tree_of

BOOT = "proc/sys/kernel/random/boot_id"


@pytest.mark.parametrize(
    ("system_boot", "ended", "now", "cause"),
    [
        ("a", True, "a", "restart"),
        ("a", False, "a", "crash"),
        ("a", True, "b", "reboot"),
        ("a", False, "b", "power"),
        (None, False, "b", "unknown"),
        ("a", False, None, "unknown"),
    ],
)
def test_cause_follows_from_the_end_before_and_the_systems_boot(
    system_boot: str | None, ended: bool, now: str | None, cause: str
) -> None:
    before = KeptStarts(starts=3, system_boot=system_boot, ended=ended)
    assert cause_of(before, now, new=False) == cause


def test_starts_are_counted_over_the_disks_life(tmp_path: Path) -> None:
    state, tree = tmp_path / "state", tree_of(tmp_path, {BOOT: "a\n"})
    told = []
    for ends, boot in ((False, "a\n"), (True, "a\n"), (False, "b\n"), (True, "c\n")):
        tree_of(tmp_path, {BOOT: boot})
        record = StartRecord(Store(state), tree)
        record.begin()
        if ends:
            record.end()
        told.append((record.number, record.cause))
    assert told == [(1, "first"), (2, "crash"), (3, "reboot"), (4, "power")]


def test_agent_that_knows_its_disk_but_no_start_cannot_tell(tmp_path: Path) -> None:
    Store(tmp_path).next_session()
    record = StartRecord(Store(tmp_path), tree_of(tmp_path / "tree", {BOOT: "a\n"}))
    assert (record.number, record.cause) == (1, "unknown")


def test_disk_that_takes_nothing_is_no_reason_not_to_start(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    store = Store(tmp_path / "state")

    def full(*_arguments: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with caplog.at_level(logging.WARNING):
        StartRecord(store, tree_of(tmp_path, {BOOT: "a\n"})).begin()
    assert "count of starts" in caplog.text
    assert not (tmp_path / "state" / STARTS).exists()
