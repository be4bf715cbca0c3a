"""The disk of the agent's state: room, and life of flash memory."""

import os
from pathlib import Path

import pytest

from node_agent.board_figures.disk import block_device_of, disk_room, worn_share
from tests.node_agent.board_figures.trees import tree_of


def test_room_is_that_of_the_disk_below_the_folder(tmp_path: Path) -> None:
    room = disk_room(tmp_path)
    assert room is not None
    figures = os.statvfs(tmp_path)
    assert room.free_share == pytest.approx(figures.f_bavail / figures.f_blocks, abs=0.01)
    assert not room.read_only
    assert disk_room(tmp_path / "gone") is None


def test_disk_that_takes_no_writes_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    figures = list(os.statvfs(tmp_path))
    figures[8] |= os.ST_RDONLY  # f_flag
    monkeypatch.setattr(os, "statvfs", lambda _folder: os.statvfs_result(figures))
    room = disk_room(tmp_path)
    assert room is not None
    assert room.read_only


@pytest.mark.parametrize(
    ("life_time", "share"),
    [
        ("0x01 0x01\n", 0.1),
        ("0x02 0x07\n", 0.7),
        ("0x0a 0x03\n", 1.0),
        ("0x0b 0x0b\n", 1.0),
        ("0x00 0x00\n", None),
        ("0x00 0x05\n", 0.5),
        ("0xff\n", None),
        ("worn\n", None),
    ],
)
def test_worse_of_two_estimates_of_flash_life_counts(tmp_path: Path, life_time: str, share: float | None) -> None:
    disk = "sys/devices/platform/mmc/block/mmcblk0"
    tree = tree_of(tmp_path, {f"{disk}/device/life_time": life_time, f"{disk}/mmcblk0p2/partition": "2"})
    blocks = tmp_path / "sys/dev/block"
    blocks.mkdir(parents=True)
    (blocks / "179:0").symlink_to(tmp_path / disk)
    (blocks / "179:2").symlink_to(tmp_path / disk / "mmcblk0p2")
    assert worn_share(tree, "sys/dev/block/179:0") == share
    assert worn_share(tree, "sys/dev/block/179:2") == share
    assert worn_share(tree, "sys/dev/block/8:1") is None


def test_disk_without_a_device_has_none() -> None:
    assert block_device_of(Path("/proc")) is None
    assert block_device_of(Path("/nowhere")) is None
