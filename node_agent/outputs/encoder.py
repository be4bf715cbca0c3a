"""From a channel's codes to the bytes of its data line and back, whatever the protocol of its pixels."""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from node_agent.outputs.clocked import ClockedEncoder, DecodedClocked, decode_clocked
from node_agent.outputs.nrz import DecodedNrz, NrzEncoder, decode_nrz
from schemas import ClockedTiming, PixelType

Decoded = DecodedNrz | DecodedClocked


class Encoder(Protocol):
    """Encodes one channel's codes for an SPI port at `clock_hz`; a frame always has `frame_bytes`."""

    clock_hz: int
    frame_bytes: int

    @property
    def wire_time_s(self) -> float:
        """How long a frame occupies the data line, all that frames need before and after included."""
        ...

    @property
    def in_one_piece(self) -> bool:
        """Whether a pause inside a frame would pass for its end."""
        ...

    @property
    def manner(self) -> str:
        """How the port's bits and lines are used, for a person who wires it."""
        ...

    def encode(self, codes: NDArray[np.uint8]) -> memoryview:
        """The bytes of a frame from codes of shape (pixels, 4): red, green, blue, white.

        Two buffers take turns: what is returned stays valid until the call after the next, so that a frame can be
        encoded while the one before is still being sent. Raises ValueError for another shape.
        """
        ...


def encoder_for(pixel_type: PixelType, pixels: int) -> Encoder:
    """The encoder of the pixel type's protocol. Raises OutputError when an SPI port cannot hold its timing."""
    if isinstance(pixel_type.timing, ClockedTiming):
        return ClockedEncoder(pixel_type, pixels)
    return NrzEncoder(pixel_type, pixels)


def decode_frame(data: bytes | memoryview, pixel_type: PixelType, pixels: int, clock_hz: int) -> Decoded:
    """Reads the bytes of a frame as its pixels would. Raises OutputError when they are no whole frame."""
    if isinstance(pixel_type.timing, ClockedTiming):
        return decode_clocked(data, pixel_type, pixels)
    return decode_nrz(data, pixel_type, pixels, clock_hz)
