"""How long a frame is on the wire, and so how fast a run can be refreshed.

Derived from the data sheets' bit of 1.25 µs (WS2812B, first revision: 0.40 + 0.85 = 0.80 + 0.45 µs; reset 50 µs).
"""

import pytest

from node_agent.outputs import NrzEncoder
from node_agent.outputs.nrz_symbol import nrz_timing
from schemas import PIXEL_CATALOGUE

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]


def test_a_pixel_of_24_bits_at_800_kbit_per_s_takes_30_us() -> None:
    assert nrz_timing(RGB).bit_us == pytest.approx(1.25)
    assert RGB.pixel_us == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("pixels", "wire_time_ms", "frames_per_s"), [(300, 9.05, 110.5), (512, 15.41, 64.9), (1024, 30.77, 32.5)]
)
def test_the_wire_time_of_a_run_gives_its_highest_frame_rate(
    pixels: int, wire_time_ms: float, frames_per_s: float
) -> None:
    assert RGB.wire_time_s(pixels) * 1e3 == pytest.approx(wire_time_ms, abs=0.005)
    assert 1 / RGB.wire_time_s(pixels) == pytest.approx(frames_per_s, abs=0.05)


@pytest.mark.parametrize(("pixels", "wire_time_ms"), [(300, 9.05), (512, 15.41), (1024, 30.77)])
def test_the_bytes_for_the_spi_port_take_that_time_and_at_most_a_lead_byte_more(
    pixels: int, wire_time_ms: float
) -> None:
    encoder = NrzEncoder(RGB, pixels)
    assert encoder.clock_hz == 2_400_000
    assert encoder.wire_time_s * 1e3 == pytest.approx(wire_time_ms, abs=0.006)


def test_1024_pixels_keep_30_frames_per_s() -> None:
    """The WS2811 data sheet promises at least 1,024 pixels at 30 frames/s for 800 kbit/s."""
    assert 1 / NrzEncoder(RGB, 1024).wire_time_s >= 30
