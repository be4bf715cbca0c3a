"""Pixels with a data and a clock line: frames as bytes for an SPI port whose clock is wired too, and back.

A frame is a start of zero bits; of each pixel a byte of three ones and a level of five bits, then its colours, most
significant bit first; and an end of zero bits, which carry the clock that the far pixels still need (APA102 data
sheet, as transcribed). The level stays at its highest: budgets are held in the 8-bit codes.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from node_agent.outputs.output import OutputError
from node_agent.power import EMITTERS
from schemas import ClockedTiming, PixelType

_FULL_LEVEL: Final = 0b111_11111
_MARK: Final = 0b111


class ClockedEncoder:
    """Encodes one channel's codes."""

    in_one_piece = False  # with the data the clock stops too
    manner = "the port's clock goes to the pixels beside the data"

    def __init__(self, pixel_type: PixelType, pixels: int) -> None:
        timing = clocked_timing(pixel_type)
        self.clock_hz = round(timing.clock_mhz * 1e6)
        self._pixels = pixels
        self._columns = [EMITTERS.index(letter) for letter in pixel_type.colour_order]
        start_bytes, pixel_bytes = timing.start_bits // 8, 1 + len(self._columns)
        self.frame_bytes = start_bytes + pixels * pixel_bytes + timing.end_bytes(pixels)
        self._frames = [np.zeros(self.frame_bytes, dtype=np.uint8) for _ in range(2)]
        self._bodies = [
            frame[start_bytes : start_bytes + pixels * pixel_bytes].reshape(pixels, pixel_bytes)
            for frame in self._frames
        ]
        for body in self._bodies:
            body[:, 0] = _FULL_LEVEL

    @property
    def wire_time_s(self) -> float:
        """How long a frame occupies the data line, start and end included."""
        return self.frame_bytes * 8 / self.clock_hz

    def encode(self, codes: NDArray[np.uint8]) -> memoryview:
        """As `Encoder.encode`."""
        if codes.shape != (self._pixels, len(EMITTERS)):
            raise ValueError(f"codes: shape {codes.shape}; this channel takes ({self._pixels}, {len(EMITTERS)})")
        self._frames.reverse()
        self._bodies.reverse()
        for place, column in enumerate(self._columns, start=1):
            self._bodies[0][:, place] = codes[:, column]
        return self._frames[0].data


@dataclass(frozen=True, slots=True, eq=False)
class DecodedClocked:
    """What a data line carried: codes (pixels, 4) as red, green, blue, white; each pixel's level, 0 to 31; and the zero
    bits before the first pixel and after the last."""

    codes: NDArray[np.uint8]
    levels: NDArray[np.uint8]
    start_bits: int
    end_bits: int


def decode_clocked(data: bytes | memoryview, pixel_type: PixelType, pixels: int) -> DecodedClocked:
    """Reads SPI bytes as the chain of pixels would: the first one bit after the start begins the first pixel.

    Raises OutputError when the start is too short, a pixel has no mark, the end has too few bits for the far pixels, or
    is not zero and so lights a pixel more.
    """
    timing = clocked_timing(pixel_type)
    bits = np.unpackbits(np.frombuffer(data, dtype=np.uint8))
    pixel_bits = 8 + pixel_type.colour_bits
    ones = np.flatnonzero(bits)
    start = int(ones[0]) if ones.size else bits.size
    end = start + pixels * pixel_bits
    if start < timing.start_bits:
        raise _wrong(f"{start} zero bits at the start where the pixels need {timing.start_bits}")
    if end > bits.size:
        raise _wrong(f"{(bits.size - start) // pixel_bits} pixels where there are {pixels}")
    words = np.packbits(bits[start:end]).reshape(pixels, -1)
    unmarked = np.flatnonzero(words[:, 0] >> 5 != _MARK)
    if unmarked.size:
        raise _wrong(f"pixel {unmarked[0]} begins without its three ones")
    if bits[end:].any():
        raise _wrong("bits that are not zero follow the last pixel and would light one more")
    if bits.size - end < pixels * timing.end_bits_per_pixel:
        raise _wrong(f"{bits.size - end} bits follow the last pixel, too few to reach {pixels} pixels")
    codes = np.zeros((pixels, len(EMITTERS)), dtype=np.uint8)
    codes[:, [EMITTERS.index(letter) for letter in pixel_type.colour_order]] = words[:, 1:]
    levels = words[:, 0] & np.uint8(0b11111)
    return DecodedClocked(codes, levels, start, bits.size - end)


def clocked_timing(pixel_type: PixelType) -> ClockedTiming:
    """The clock and frame of a pixel type with two wires. Raises OutputError for another protocol."""
    timing = pixel_type.timing
    if isinstance(timing, ClockedTiming):
        return timing
    raise OutputError(
        f"pixel_type {pixel_type.key}: timing.protocol",
        f"{timing.protocol} has no clock line",
        "use the encoder of its protocol",
    )


def _wrong(reason: str) -> OutputError:
    return OutputError("data", reason, "send whole frames")
