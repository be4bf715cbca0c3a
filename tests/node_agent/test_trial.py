"""A trial shows one run for a while, under its budget, and leaves it dark."""

import time
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from node_agent.outputs import CapturedFrame, CaptureHeader, CaptureOutput, OutputError, WireFrame, read_capture
from node_agent.trial import COLOURS, FRAME_RATE_LIMIT_HZ, PatternName, Trial
from schemas import PIXEL_CATALOGUE

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]


def trial(pixels: int = 30, pattern: PatternName = "wash", budget_a: float = 0.6, *colours: str) -> Trial:
    return Trial(
        pixels=pixels,
        pixel_type=RGB,
        pixels_per_m=60.0,
        pin="capture",
        pattern=pattern,
        colours=colours,
        budget_a=budget_a,
    )


def captured(shown: Trial, path: Path, seconds: float) -> list[CapturedFrame]:
    with closing(capture_of(shown, path)) as output:
        shown.show(output, seconds, lambda: False)
    return list(read_capture(path))


def capture_of(shown: Trial, path: Path) -> CaptureOutput:
    header = CaptureHeader(pixel_type=RGB, pixels=shown.pixels, clock_hz=shown.encoder.clock_hz)
    return CaptureOutput(path, header)


@pytest.mark.parametrize("pattern", COLOURS)
@pytest.mark.parametrize("pixels", [1, 30])
def test_every_pattern_lights_a_run_of_any_length_and_ends_dark(
    pattern: PatternName, pixels: int, tmp_path: Path
) -> None:
    frames = captured(trial(pixels, pattern), tmp_path / "run.capture", 0.3)
    codes = np.array([frame.decode().codes for frame in frames])
    assert codes[:-1].any() or (pattern == "twinkle" and pixels == 1)  # one pixel may stay dark for a period
    assert not codes[-1].any()


def test_no_frame_exceeds_the_budget(tmp_path: Path) -> None:
    shown = trial(150, "wash", 0.8, "#ffffff")
    for frame in captured(shown, tmp_path / "run.capture", 0.3):
        assert 150 * 0.0009 + float(frame.decode().codes.sum()) / 255 * 0.0197 <= 0.8


def test_the_report_tells_the_highest_draw_and_the_lowest_scale(tmp_path: Path) -> None:
    shown = trial(150, "wash", 0.8, "#ffffff")
    with closing(capture_of(shown, tmp_path / "run.capture")) as output:
        report = shown.show(output, 0.2, lambda: False)
    assert 0.75 < report.highest_a <= 0.8
    assert 0 < report.lowest_scale < 0.1
    assert report.frames >= 1


def test_frames_keep_below_the_wires_rate_and_the_limit() -> None:
    assert trial(30).frame_rate_hz == FRAME_RATE_LIMIT_HZ
    long = trial(1024)
    assert long.frame_rate_hz < 1 / long.encoder.wire_time_s


def test_frames_that_a_slow_output_misses_are_left_out_and_counted() -> None:
    class SlowOutput:
        def __init__(self) -> None:
            self.show_times_s: list[float] = []

        def send(self, frame: WireFrame) -> None:
            self.show_times_s.append(frame.show_time_s)
            time.sleep(0.02)

        def close(self) -> None: ...

    output, shown = SlowOutput(), trial()
    report = shown.show(output, 0.3, lambda: False)
    assert report.late_frames > 0
    assert report.frames == len(output.show_times_s) - 1  # the last is darkness
    assert output.show_times_s[-2] < 0.3


def test_stopping_ends_it_dark(tmp_path: Path) -> None:
    shown = trial()
    path = tmp_path / "run.capture"
    asked = iter([False, False, True])
    with closing(capture_of(shown, path)) as output:
        assert shown.show(output, 1000.0, lambda: next(asked)).frames == 2
    frames = list(read_capture(path))
    assert len(frames) == 3
    assert not frames[-1].decode().codes.any()


def test_a_pixel_type_that_no_clock_can_drive_is_refused() -> None:
    timing = RGB.timing.model_copy(update={"tolerance_us": 0.0001})
    with pytest.raises(OutputError, match="no symbol"):
        Trial(
            pixels=1,
            pixel_type=RGB.model_copy(update={"timing": timing}),
            pixels_per_m=60.0,
            pin="capture",
            pattern="wash",
            colours=(),
            budget_a=0.6,
        )
