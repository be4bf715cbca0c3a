"""The choice of an SPI clock and of the two bit patterns that stand for a zero and a one on a single-wire data line.

An SPI port shifts bits out at a steady clock. A data bit is sent as a symbol of several SPI bits, high ones first; the
clock is chosen so that a symbol lasts exactly as long as the data sheet's bit, and the wire time is what was planned.
"""

from dataclasses import dataclass
from typing import Final

from node_agent.outputs.output import OutputError
from schemas import NrzTiming, PixelType

MIN_SYMBOL_BITS: Final = 3
MAX_SYMBOL_BITS: Final = 10
_EQUAL_US: Final = 0.010  # margins closer than this count as equal: then fewer bits, so a shorter transfer, win


@dataclass(frozen=True, slots=True)
class NrzSymbol:
    """`zero_high` or `one_high` of `bits` SPI bits are high; `margin_us` is what the worst time keeps to the limit."""

    bits: int
    zero_high: int
    one_high: int
    clock_hz: int
    margin_us: float

    def pattern(self, one: bool) -> tuple[int, ...]:
        """The SPI bits of a data bit, in the order they are sent."""
        high = self.one_high if one else self.zero_high
        return (1,) * high + (0,) * (self.bits - high)


def nrz_timing(pixel_type: PixelType) -> NrzTiming:
    """The times of a single-wire pixel type. Raises OutputError for another protocol."""
    timing = pixel_type.timing
    if isinstance(timing, NrzTiming):
        return timing
    raise OutputError(
        f"pixel_type {pixel_type.key}: timing.protocol",
        f"{timing.protocol} is not sent on a single wire",
        "use the encoder of its protocol",
    )


def choose_symbol(pixel_type: PixelType) -> NrzSymbol:
    """The symbol whose four times lie deepest inside the data sheet's tolerance. Raises OutputError when none fits."""
    timing = nrz_timing(pixel_type)
    symbols = [_best_of_bits(timing, bits) for bits in range(MIN_SYMBOL_BITS, MAX_SYMBOL_BITS + 1)]
    largest_us = max(symbol.margin_us for symbol in symbols)
    if largest_us < 0:
        raise OutputError(
            f"pixel_type {pixel_type.key}: timing",
            f"no symbol of {MIN_SYMBOL_BITS} to {MAX_SYMBOL_BITS} SPI bits holds T0H {timing.t0h_us}, T0L "
            f"{timing.t0l_us}, T1H {timing.t1h_us}, T1L {timing.t1l_us} µs within ±{timing.tolerance_us} µs",
            "compare the times and the tolerance with the pixel's data sheet",
        )
    return next(symbol for symbol in symbols if symbol.margin_us >= max(largest_us - _EQUAL_US, 0.0))


def _best_of_bits(timing: NrzTiming, bits: int) -> NrzSymbol:
    clock_hz = round(bits / timing.bit_us * 1e6)
    tick_us = 1e6 / clock_hz

    def worst_error_us(high: int, high_us: float, low_us: float) -> float:
        return max(abs(high * tick_us - high_us), abs((bits - high) * tick_us - low_us))

    highs = range(1, bits)
    zero_high = min(highs, key=lambda high: worst_error_us(high, timing.t0h_us, timing.t0l_us))
    one_high = min(highs, key=lambda high: worst_error_us(high, timing.t1h_us, timing.t1l_us))
    error_us = max(
        worst_error_us(zero_high, timing.t0h_us, timing.t0l_us), worst_error_us(one_high, timing.t1h_us, timing.t1l_us)
    )
    # A symbol that cannot tell a one from a zero has no margin at all.
    margin_us = timing.tolerance_us - error_us if zero_high < one_high else -timing.tolerance_us
    return NrzSymbol(bits, zero_high, one_high, clock_hz, margin_us)
