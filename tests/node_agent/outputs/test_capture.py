"""The capture file: what was sent comes back, within a bounded size, also after a crash."""

import itertools
import resource
import time
from pathlib import Path

import numpy as np
import pytest

from node_agent.outputs import (
    CapturedFrame,
    CaptureHeader,
    CaptureOutput,
    NrzEncoder,
    OutputError,
    WireFrame,
    older_capture,
    read_capture,
)
from schemas import PIXEL_CATALOGUE

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
PIXELS = 20
ENCODER = NrzEncoder(RGB, PIXELS)
HEADER = CaptureHeader(pixel_type=RGB, pixels=PIXELS, clock_hz=ENCODER.clock_hz)


def frame(level: int, revision: int | None = 7) -> WireFrame:
    """Uniform white of a level, at a show time of as many seconds."""
    codes = np.full((PIXELS, 4), (level, level, level, 0), dtype=np.uint8)
    return WireFrame(bytes(ENCODER.encode(codes)), float(level), revision)


def written(path: Path, levels: list[int], max_bytes: int = 1_000_000) -> list[CapturedFrame]:
    output = CaptureOutput(path, HEADER, max_bytes)
    for level in levels:
        output.send(frame(level))
    output.close()
    return list(read_capture(path))


def levels_of(frames: list[CapturedFrame]) -> list[int]:
    return [int(captured.decode().codes[0, 0]) for captured in frames]


def test_frames_come_back_with_their_times_revision_and_header(tmp_path: Path) -> None:
    path = tmp_path / "channel-1.capture"
    before_s = time.time()
    output = CaptureOutput(path, HEADER)
    output.send(frame(10, revision=3))
    output.send(frame(20, revision=None))
    output.close()
    first, second = read_capture(path)
    assert first.header == HEADER
    assert (first.revision, second.revision) == (3, None)
    assert (first.show_time_s, second.show_time_s) == (10.0, 20.0)
    assert before_s <= first.written_at_s <= second.written_at_s <= time.time()
    assert first.data == frame(10).data
    assert levels_of([first, second]) == [10, 20]


def test_a_frame_like_the_one_before_takes_no_room_and_comes_back_whole(tmp_path: Path) -> None:
    path = tmp_path / "channel-1.capture"
    frames = written(path, [5] * 100 + [6, 5])
    assert levels_of(frames) == [5] * 100 + [6, 5]
    assert path.stat().st_size < 3 * len(frame(5).data) + 102 * 40 + 2000


def test_a_capture_is_readable_while_it_is_written(tmp_path: Path) -> None:
    output = CaptureOutput(tmp_path / "channel-1.capture", HEADER)
    output.send(frame(1))
    assert levels_of(list(read_capture(tmp_path / "channel-1.capture"))) == [1]
    output.close()


def test_the_size_is_bounded_by_turning_over_to_one_older_file(tmp_path: Path) -> None:
    path = tmp_path / "channel-1.capture"
    max_bytes = 5000
    frames = written(path, list(range(1, 101)), max_bytes)
    assert path.stat().st_size <= max_bytes
    assert older_capture(path).stat().st_size <= max_bytes
    assert sorted(tmp_path.iterdir()) == [path, older_capture(path)]
    newest = levels_of(frames)
    assert newest == list(range(newest[0], 101))
    assert len(newest) > 10


def test_the_first_frame_after_turning_over_is_whole_even_if_it_repeats(tmp_path: Path) -> None:
    path = tmp_path / "channel-1.capture"
    frames = written(path, [9] * 300, 5000)
    assert set(levels_of(frames)) == {9}
    older_capture(path).unlink()
    assert set(levels_of(list(read_capture(path)))) == {9}


def test_a_new_start_keeps_the_frames_of_the_run_before(tmp_path: Path) -> None:
    path = tmp_path / "channel-1.capture"
    written(path, [1, 2])
    assert levels_of(written(path, [3])) == [1, 2, 3]
    assert levels_of(written(path, [4])) == [3, 4]


def test_a_file_cut_off_anywhere_gives_the_whole_frames_before_the_cut(tmp_path: Path) -> None:
    path = tmp_path / "channel-1.capture"
    written(path, [1, 1, 2])
    whole = path.read_bytes()
    found = []
    for length in range(len(whole) + 1):
        path.write_bytes(whole[:length])
        found.append(levels_of(list(read_capture(path))))
    assert found[0] == []
    assert found[-1] == [1, 1, 2]
    assert all(later[: len(earlier)] == earlier for earlier, later in itertools.pairwise(found))
    assert [1] in found


def test_a_damaged_record_ends_the_frames(tmp_path: Path) -> None:
    path = tmp_path / "channel-1.capture"
    written(path, [1, 2, 3])
    damaged = bytearray(path.read_bytes())
    damaged[-len(frame(3).data) - 200] ^= 0xFF  # in the second record
    path.write_bytes(damaged)
    assert levels_of(list(read_capture(path))) == [1]


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"another file altogether", "is not a capture file"),
        (b"stringcourse capture 1\n\x00\x00\x00\x02{}", "is not a capture file"),
    ],
    ids=["foreign", "header without fields"],
)
def test_a_file_that_is_no_capture_is_refused(tmp_path: Path, content: bytes, reason: str) -> None:
    (tmp_path / "x").write_bytes(content)
    with pytest.raises(OutputError, match=reason):
        list(read_capture(tmp_path / "x"))


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be read: No such file"):
        list(read_capture(tmp_path / "absent"))


@pytest.mark.parametrize("name", ["notes.txt", "notes.txt.older"])
def test_a_file_of_another_kind_is_never_replaced(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("mine")
    with pytest.raises(OutputError, match="exists and is not a capture file; name another file"):
        CaptureOutput(tmp_path / "notes.txt", HEADER)
    assert (tmp_path / name).read_text() == "mine"


def test_a_folder_that_does_not_exist_is_named(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be written: No such file or directory; name a file in a folder"):
        CaptureOutput(tmp_path / "absent" / "x.capture", HEADER)


def test_a_frame_that_finds_no_room_is_an_error_and_leaves_no_part_of_itself(tmp_path: Path) -> None:
    path = tmp_path / "channel-1.capture"
    output = CaptureOutput(path, HEADER)
    output.send(frame(1))
    size = path.stat().st_size
    _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size + 30, hard))  # the kernel takes 30 bytes of the next record
    try:
        with pytest.raises(OutputError, match="cannot be written: No space left on device; name a file in a folder"):
            output.send(frame(2))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
    assert path.stat().st_size == size
    output.send(frame(2))
    output.close()
    assert levels_of(list(read_capture(path))) == [1, 2]
