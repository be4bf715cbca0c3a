"""How often a node shows a frame: what its longest data line holds, what pixels redraw, what the venue allows. Pure."""

from typing import Final

from schemas import DesiredBody, NrzTiming, PixelType

IDLE_PERIOD_S: Final = 1.0
"""Between frames of a node without pixels."""

# Pixels redraw about 400 times a second ("scan frequency", WS2812B data sheet, first revision, from memory): a frame
# that comes sooner is never seen, and a short run would have its board do nothing else.
FRAME_RATE_CEILING_HZ: Final = 400.0

_SPI_BITS_AROUND: Final = 16
_FEWEST_SPI_BITS: Final = 3


def frame_period_s(body: DesiredBody) -> float:
    """Time between frames of the node that holds `body`.

    It comes from data sheets alone, not from the encoders, so that the hub reckons with the same period as the board.
    """
    wire_s = max((_line_s(channel.pixel_type, channel.pixels) for channel in body.channels), default=0.0)
    fastest_s = max(wire_s, 1 / FRAME_RATE_CEILING_HZ) if wire_s else IDLE_PERIOD_S
    limit_hz = body.frame_rate_limit_hz
    return max(fastest_s, 1 / limit_hz if limit_hz else 0.0)


def _line_s(pixel_type: PixelType, pixels: int) -> float:
    """The most that a frame holds a data line: a single-wire stream begins with a byte and ends on a whole one, of at
    least three SPI bits to a bit of data."""
    timing = pixel_type.timing
    around_us = timing.bit_us * _SPI_BITS_AROUND / _FEWEST_SPI_BITS if isinstance(timing, NrzTiming) else 0.0
    return pixel_type.wire_time_s(pixels) + around_us * 1e-6
