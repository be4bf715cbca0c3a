"""Frames of clocked pixels: what is encoded is what a chain of pixels reads, and faults in a frame are told."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from node_agent.outputs import ClockedEncoder, DecodedClocked, DecodedNrz, OutputError, decode_clocked, decode_frame
from node_agent.outputs.encoder import encoder_for
from schemas import PIXEL_CATALOGUE, ClockedTiming, PixelType

RGB = PIXEL_CATALOGUE["rgb-5v-clocked"]
NRZ = PIXEL_CATALOGUE["rgb-5v-nrz800"]
TIMING = RGB.timing
RGBW = RGB.model_copy(update={"colour_order": "WRGB"})
LONG_START = RGB.model_copy(update={"timing": TIMING.model_copy(update={"start_bits": 64, "end_bits": 0})})


def random_codes(pixels: int, seed: int = 1) -> np.ndarray[tuple[int, int], np.dtype[np.uint8]]:
    codes = np.random.default_rng(seed).integers(0, 256, (pixels, 4), dtype=np.uint8)
    return codes.reshape(pixels, 4)


@given(kind=st.sampled_from([RGB, RGBW, LONG_START]), pixels=st.integers(1, 300), seed=st.integers(0, 1_000))
def test_what_is_encoded_is_what_pixels_read(kind: PixelType, pixels: int, seed: int) -> None:
    codes = random_codes(pixels, seed)
    if "W" not in kind.colour_order:
        codes[:, 3] = 0
    encoder = ClockedEncoder(kind, pixels)
    read = decode_clocked(encoder.encode(codes), kind, pixels)
    np.testing.assert_array_equal(read.codes, codes)
    assert set(read.levels.tolist()) == {31}
    assert isinstance(kind.timing, ClockedTiming)
    assert read.start_bits == kind.timing.start_bits
    assert read.end_bits >= pixels / 2


@pytest.mark.parametrize("kind", [RGB, RGBW, LONG_START], ids=["RGB", "RGBW", "long start"])
@pytest.mark.parametrize("pixels", [1, 7, 150, 4096])
def test_wire_time_is_the_planned_one(kind: PixelType, pixels: int) -> None:
    assert ClockedEncoder(kind, pixels).wire_time_s == pytest.approx(kind.wire_time_s(pixels))


def test_frames_in_turn_do_not_disturb_each_other() -> None:
    encoder = ClockedEncoder(RGB, 20)
    first = encoder.encode(random_codes(20, 1))
    kept = bytes(first)
    encoder.encode(random_codes(20, 2))
    assert bytes(first) == kept
    again = encoder.encode(random_codes(20, 1))
    assert bytes(again) == kept


def test_codes_of_another_shape_are_refused() -> None:
    with pytest.raises(ValueError, match=r"codes: shape \(9, 4\); this channel takes \(10, 4\)"):
        ClockedEncoder(RGB, 10).encode(np.zeros((9, 4), dtype=np.uint8))


def test_the_protocol_of_the_pixel_type_chooses() -> None:
    codes = random_codes(5)
    for kind, decoded in ((RGB, DecodedClocked), (NRZ, DecodedNrz)):
        encoder = encoder_for(kind, 5)
        assert isinstance(decode_frame(encoder.encode(codes), kind, 5, encoder.clock_hz), decoded)


def test_an_encoder_takes_no_pixels_of_another_protocol() -> None:
    with pytest.raises(OutputError, match=r"rgb-5v-nrz800: timing.protocol: nrz has no clock line"):
        ClockedEncoder(NRZ, 5)


FRAME = bytes(ClockedEncoder(RGB, 3).encode(np.full((3, 4), 255, dtype=np.uint8)))


@pytest.mark.parametrize(
    ("data", "pixels", "reason"),
    [
        (FRAME[1:], 3, "24 zero bits at the start where the pixels need 32"),
        (FRAME[:12], 3, "2 pixels where there are 3"),
        (FRAME[:8] + b"\x7f" + FRAME[9:], 3, "pixel 1 begins without its three ones"),
        (FRAME, 2, "bits that are not zero follow the last pixel"),
        (FRAME[:16], 3, "0 bits follow the last pixel, too few to reach 3 pixels"),
        (bytes(40), 3, "0 pixels where there are 3"),
        (b"", 3, "0 zero bits at the start"),
    ],
    ids=["short start", "cut off", "no mark", "a pixel more", "no end", "zeros only", "nothing"],
)
def test_a_frame_with_a_fault_is_refused(data: bytes, pixels: int, reason: str) -> None:
    with pytest.raises(OutputError, match=reason):
        decode_clocked(data, RGB, pixels)
