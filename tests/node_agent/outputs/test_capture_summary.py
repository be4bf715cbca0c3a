"""A summary of capture files says what was on the wires, whole frames of several channels together."""

import time
from pathlib import Path

import numpy as np
import pytest

from node_agent.outputs.capture import CaptureHeader, CaptureOutput
from node_agent.outputs.capture_summary import summarise
from node_agent.outputs.encoder import encoder_for
from node_agent.outputs.output import OutputError, WireFrame
from schemas import PIXEL_CATALOGUE, PixelType

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
CLOCKED = PIXEL_CATALOGUE["rgb-5v-clocked"]


def _capture(path: Path, pixels: int, levels: list[int], revision: int | None = 7, kind: PixelType = RGB) -> None:
    """Frames of white at each level, one a second of show time."""
    encoder = encoder_for(kind, pixels)
    output = CaptureOutput(path, CaptureHeader(pixel_type=kind, pixels=pixels, clock_hz=encoder.clock_hz))
    for number, level in enumerate(levels):
        codes = np.full((pixels, 4), (level, level, level, 0), dtype=np.uint8)
        output.send(WireFrame(encoder.encode(codes), 1000.0 + number, revision))
    output.close()


def test_full_white_is_sixty_milliamps_a_pixel(tmp_path: Path) -> None:
    _capture(tmp_path / "channel-1.capture", 150, [0, 255, 0])
    summary = summarise([tmp_path / "channel-1.capture"])
    assert summary.highest_a == pytest.approx(9.0)  # 150 x 60 mA: common practice, no source
    assert summary.frames == 3


def test_clocked_pixels_are_summed_by_their_own_currents(tmp_path: Path) -> None:
    _capture(tmp_path / "channel-1.capture", 100, [0, 255, 0], kind=CLOCKED)
    _capture(tmp_path / "channel-2.capture", 100, [0, 255, 0])
    summary = summarise(sorted(tmp_path.glob("*.capture")))
    assert summary.highest_a == pytest.approx(100 * 0.061 + 100 * 0.060)


def test_channels_add_up_only_at_one_show_time(tmp_path: Path) -> None:
    _capture(tmp_path / "channel-1.capture", 10, [255, 0])
    _capture(tmp_path / "channel-2.capture", 10, [0, 255])
    summary = summarise(sorted(tmp_path.glob("*.capture")))
    assert summary.highest_a == pytest.approx(0.6 + 10 * 0.9e-3)


def test_names_each_revision_by_its_first_frame(tmp_path: Path) -> None:
    before_s = time.time()
    _capture(tmp_path / "channel-1.capture", 4, [1, 2, 3], revision=3)
    (shown,) = summarise([tmp_path / "channel-1.capture"]).revisions
    assert (shown.revision, shown.frames, shown.first_show_time_s) == (3, 3, 1000.0)
    assert before_s <= shown.first_written_at_s <= time.time()


def test_frames_before_since_do_not_count(tmp_path: Path) -> None:
    _capture(tmp_path / "channel-1.capture", 4, [255])
    assert summarise([tmp_path / "channel-1.capture"], since_s=time.time() + 1).frames == 0


def test_the_wait_for_the_first_frame_is_a_gap_too(tmp_path: Path) -> None:
    since_s = time.time() - 5.0
    _capture(tmp_path / "channel-1.capture", 4, [1, 2])
    assert summarise([tmp_path / "channel-1.capture"], since_s).longest_gap_s == pytest.approx(5.0, abs=2.0)


def test_the_channel_that_fell_silent_first_tells_when(tmp_path: Path) -> None:
    _capture(tmp_path / "channel-1.capture", 4, [1])
    between_s = time.time()
    _capture(tmp_path / "channel-2.capture", 4, [1])
    files = sorted(tmp_path.glob("*.capture"))
    last_s = summarise(files).last_written_at_s
    assert last_s is not None
    assert last_s <= between_s
    assert summarise(files, since_s=between_s).last_written_at_s is None


def test_a_file_that_is_no_capture_is_named(tmp_path: Path) -> None:
    (tmp_path / "channel-1.capture").write_bytes(b"not one")
    with pytest.raises(OutputError, match="is not a capture file"):
        summarise([tmp_path / "channel-1.capture"])
