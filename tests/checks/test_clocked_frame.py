"""Frames of clocked pixels against the format that their data sheet publishes.

Source: APA102 data sheet, as transcribed: a start of 32 zero bits; a pixel is 111, a level of 5 bits, then blue, green,
red, 8 bits each, most significant first; each pixel hands the data on half a clock late, so that the last of N is
reached after N/2 further bits. That the end may be zero where the sheet draws ones: common practice, no source.
"""

import math

import numpy as np
import pytest

from node_agent.outputs import encoder_for
from schemas import PIXEL_CATALOGUE

CLOCKED = PIXEL_CATALOGUE["rgb-5v-clocked"]


def frame_of(*pixels: tuple[int, int, int]) -> bytes:
    codes = np.array([(*pixel, 0) for pixel in pixels], dtype=np.uint8)
    return bytes(encoder_for(CLOCKED, len(pixels)).encode(codes))


def test_one_pixel_byte_by_byte() -> None:
    red, green, blue = 0x01, 0x80, 0xA5
    start, pixel, end = (
        frame_of((red, green, blue))[:4],
        frame_of((red, green, blue))[4:8],
        frame_of((red, green, blue))[8:],
    )
    assert start == bytes(4)
    assert pixel == bytes([0b1110_0000 | 31, blue, green, red])
    assert end == bytes(len(end))
    assert len(end) * 8 >= 32 + 1 / 2


def test_pixels_follow_one_another_from_the_one_next_to_the_board() -> None:
    assert frame_of((1, 2, 3), (4, 5, 6))[4:12] == bytes([0xFF, 3, 2, 1, 0xFF, 6, 5, 4])


@pytest.mark.parametrize("pixels", [1, 2, 63, 64, 65, 300, 4096])
def test_the_end_gives_the_farthest_pixel_its_clock(pixels: int) -> None:
    """Each pixel delays by half a clock, so the bit for the last one arrives N/2 bits after it was sent."""
    after_last = encoder_for(CLOCKED, pixels).frame_bytes - 4 - 4 * pixels
    assert after_last * 8 >= math.ceil(pixels / 2)


def test_300_pixels_at_4_mhz_take_2_45_ms() -> None:
    """(32 + 300 x 32 + 32 + 150) bits = 9,814 bits, 1,227 bytes: 2.454 ms by hand."""
    assert CLOCKED.wire_time_s(300) == pytest.approx(2.454e-3)
    assert encoder_for(CLOCKED, 300).wire_time_s == pytest.approx(2.454e-3)


def test_the_clock_is_within_what_the_sheet_allows() -> None:
    """Highest clock 20 MHz: from memory."""
    assert encoder_for(CLOCKED, 1).clock_hz <= 20_000_000
