"""The bit stream: what goes in comes out when read as a pixel reads it, by the times between edges."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from node_agent.outputs import NrzEncoder, OutputError, decode_nrz
from node_agent.outputs.nrz_symbol import nrz_timing
from schemas import PIXEL_CATALOGUE, NrzTiming, PixelType

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
RGBW = PIXEL_CATALOGUE["rgbw-5v-nrz800"]
NRZ_KEYS = sorted(key for key, kind in PIXEL_CATALOGUE.items() if isinstance(kind.timing, NrzTiming))
KINDS = st.sampled_from(NRZ_KEYS)


def random_codes(pixels: int, seed: int, kind: PixelType) -> NDArray[np.uint8]:
    codes = np.random.default_rng(seed).integers(0, 256, (pixels, 4), dtype=np.uint8)
    if "W" not in kind.colour_order:
        codes[:, 3] = 0
    return codes


@settings(max_examples=80)
@given(key=KINDS, pixels=st.integers(1, 300), seed=st.integers(0, 2**32 - 1))
def test_codes_come_back_from_the_bytes(key: str, pixels: int, seed: int) -> None:
    kind = PIXEL_CATALOGUE[key]
    encoder = NrzEncoder(kind, pixels)
    codes = random_codes(pixels, seed, kind)
    data = encoder.encode(codes)
    assert len(data) == encoder.frame_bytes
    np.testing.assert_array_equal(decode_nrz(data, kind, pixels, encoder.clock_hz).codes, codes)


def test_codes_in_column_order_in_memory_encode_alike() -> None:
    codes = random_codes(50, 3, RGBW)
    expected = bytes(NrzEncoder(RGBW, 50).encode(codes))
    assert bytes(NrzEncoder(RGBW, 50).encode(np.asfortranarray(codes))) == expected


def test_colours_leave_in_the_order_of_the_pixel_type_most_significant_bit_first() -> None:
    codes = np.array([[0x01, 0x80, 0x00, 0x00]], dtype=np.uint8)
    encoder = NrzEncoder(RGB, 1)
    bits = decode_nrz(encoder.encode(codes), RGB, 1, encoder.clock_hz).bits
    assert "".join(map(str, bits)) == "10000000" + "00000001" + "00000000"  # green, red, blue


def test_the_line_is_low_before_the_first_bit_and_through_the_reset() -> None:
    encoder = NrzEncoder(RGB, 3)
    data = bytes(encoder.encode(np.full((3, 4), 255, dtype=np.uint8)))
    assert data[0] == 0
    assert data[1] != 0
    decoded = decode_nrz(data, RGB, 3, encoder.clock_hz)
    assert decoded.reset_us > nrz_timing(RGB).reset_us


@pytest.mark.parametrize("key", NRZ_KEYS)
def test_the_wire_time_of_a_frame_is_the_planned_one(key: str) -> None:
    kind = PIXEL_CATALOGUE[key]
    encoder = NrzEncoder(kind, 300)
    # One lead byte, and the reset rounded up to a whole byte.
    spare_s = 2 * 8 / encoder.clock_hz
    assert kind.wire_time_s(300) <= encoder.wire_time_s * (1 + 1e-6)
    assert encoder.wire_time_s <= kind.wire_time_s(300) * (1 + 1e-6) + spare_s


def test_a_frame_stays_as_it_was_while_the_next_is_encoded() -> None:
    encoder = NrzEncoder(RGB, 20)
    first = encoder.encode(random_codes(20, 1, RGB))
    kept = bytes(first)
    encoder.encode(random_codes(20, 2, RGB))
    assert bytes(first) == kept


def test_codes_of_another_shape_are_refused() -> None:
    with pytest.raises(ValueError, match=r"codes: shape \(9, 4\); this channel takes \(10, 4\)"):
        NrzEncoder(RGB, 10).encode(np.zeros((9, 4), dtype=np.uint8))


def test_bytes_that_carry_another_number_of_bits_are_refused() -> None:
    encoder = NrzEncoder(RGB, 10)
    data = encoder.encode(np.zeros((10, 4), dtype=np.uint8))
    with pytest.raises(OutputError, match="240 bits where 11 pixels have 264"):
        decode_nrz(data, RGB, 11, encoder.clock_hz)


def test_a_line_that_was_never_high_carries_no_bits() -> None:
    with pytest.raises(OutputError, match="0 bits where 1 pixels have 24"):
        decode_nrz(bytes(40), RGB, 1, 2_400_000)
