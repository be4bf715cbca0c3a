"""The single-wire bit stream (NRZ, pulse width) as bytes for an SPI port, and back from such bytes."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from node_agent.outputs.nrz_symbol import NrzSymbol, choose_symbol, nrz_timing
from node_agent.outputs.output import OutputError
from node_agent.power import EMITTERS
from schemas import PixelType

_LEAD_BYTES = 1
"""A low byte first: a slow first clock then cannot stretch the first bit's high. Frames end low, and a port that holds
its last level idles low; one that idles high is seen as a bit by the pixels, and is no port for this stream."""


class NrzEncoder:
    """Encodes one channel's codes. Raises OutputError when no SPI clock can hold the pixel type's timing."""

    symbol: NrzSymbol
    clock_hz: int
    frame_bytes: int
    in_one_piece = True  # a low of the reset's length ends a frame

    def __init__(self, pixel_type: PixelType, pixels: int) -> None:
        self.symbol = choose_symbol(pixel_type)
        self.clock_hz = self.symbol.clock_hz
        self._pixels = pixels
        self._columns = [EMITTERS.index(letter) for letter in pixel_type.colour_order]
        self._table = _symbols_of_bytes(self.symbol)
        self._wire = np.empty((pixels, len(self._columns)), dtype=np.uint8)
        data_bytes = self._wire.size * self.symbol.bits
        reset_bytes = math.ceil(nrz_timing(pixel_type).reset_us * 1e-6 * self.clock_hz / 8)
        self.frame_bytes = _LEAD_BYTES + data_bytes + reset_bytes
        self._frames = [np.zeros(self.frame_bytes, dtype=np.uint8) for _ in range(2)]
        self._bodies = [
            frame[_LEAD_BYTES : _LEAD_BYTES + data_bytes].reshape(-1, self.symbol.bits) for frame in self._frames
        ]

    @property
    def wire_time_s(self) -> float:
        """How long a frame occupies the data line, reset included."""
        return self.frame_bytes * 8 / self.clock_hz

    @property
    def manner(self) -> str:
        """How the port's bits and lines are used, for a person who wires it."""
        return f"{self.symbol.bits} bits for a bit of data; the port's clock stays unwired"

    def encode(self, codes: NDArray[np.uint8]) -> memoryview:
        """As `Encoder.encode`."""
        if codes.shape != (self._pixels, len(EMITTERS)):
            raise ValueError(f"codes: shape {codes.shape}; this channel takes ({self._pixels}, {len(EMITTERS)})")
        for place, column in enumerate(self._columns):
            self._wire[:, place] = codes[:, column]
        self._frames.reverse()
        self._bodies.reverse()
        np.take(self._table, self._wire.reshape(-1), axis=0, out=self._bodies[0], mode="clip")
        return self._frames[0].data


@dataclass(frozen=True, slots=True, eq=False)
class DecodedNrz:
    """What a data line carried: codes (pixels, 4) as red, green, blue, white; for every data bit its value, and how
    long the line was high and then low, µs; and how long it stayed low at the end, `reset_us`.

    The last bit's low runs into the reset, so `low_us` has one entry less than `high_us`.
    """

    codes: NDArray[np.uint8]
    bits: NDArray[np.uint8]
    high_us: NDArray[np.float64]
    low_us: NDArray[np.float64]
    reset_us: float


def decode_nrz(data: bytes | memoryview, pixel_type: PixelType, pixels: int, clock_hz: int) -> DecodedNrz:
    """Reads SPI bytes as a pixel would: by the times between the edges, knowing nothing of how they were encoded.

    A bit is a one when its high is nearer to T1H than to T0H. Raises OutputError when the line carried another number
    of bits than `pixels` have, or for a pixel type of another protocol.
    """
    timing = nrz_timing(pixel_type)
    levels = np.unpackbits(np.frombuffer(data, dtype=np.uint8))
    edges = np.flatnonzero(np.diff(np.concatenate(([0], levels, [0])).astype(np.int8)))
    rises, falls = edges[0::2], edges[1::2]
    expected = pixels * pixel_type.emitters * pixel_type.bits_per_colour
    if rises.size != expected:
        raise OutputError("data", f"{rises.size} bits where {pixels} pixels have {expected}", "send whole frames")
    tick_us = 1e6 / clock_hz
    high_us = (falls - rises).astype(np.float64) * tick_us
    threshold_us = (timing.t0h_us + timing.t1h_us) / 2
    bits = (high_us > threshold_us).astype(np.uint8)
    codes = np.zeros((pixels, len(EMITTERS)), dtype=np.uint8)
    codes[:, [EMITTERS.index(letter) for letter in pixel_type.colour_order]] = np.packbits(bits).reshape(pixels, -1)
    low_us = (rises[1:] - falls[:-1]).astype(np.float64) * tick_us
    return DecodedNrz(codes, bits, high_us, low_us, float(levels.size - falls[-1]) * tick_us)


def _symbols_of_bytes(symbol: NrzSymbol) -> NDArray[np.uint8]:
    """For each byte, most significant bit first, the SPI bytes that carry it: shape (256, symbol bits)."""
    data_bits = np.unpackbits(np.arange(256, dtype=np.uint8)[:, None], axis=1)
    patterns = np.array([symbol.pattern(one=False), symbol.pattern(one=True)], dtype=np.uint8)
    return np.packbits(patterns[data_bits].reshape(256, -1), axis=1)
