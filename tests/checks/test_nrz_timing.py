"""The bit stream against the times of data sheets: SPI bytes read back to high and low times, bit by bit.

Tags: [S] as seen in a transcription of the named data sheet, [M] from memory of it, to be confirmed.
"""

from dataclasses import dataclass

import numpy as np
import pytest

from node_agent.outputs import NrzEncoder, decode_nrz
from schemas import PIXEL_CATALOGUE, NrzTiming, PixelType

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
RGBW = PIXEL_CATALOGUE["rgbw-5v-nrz800"]
LONG_RESET = PIXEL_CATALOGUE["rgb-5v-nrz800-long-reset"]
TWELVE_VOLT = PIXEL_CATALOGUE["rgb-12v-nrz800"]

Range = tuple[float, float]


@dataclass(frozen=True)
class Sheet:
    """What a data sheet allows, µs: lowest and highest of each time, and the least reset."""

    source: str
    kind: PixelType
    t0h: Range
    t0l: Range
    t1h: Range
    t1l: Range
    reset_us: float


def around(nominal_us: float, tolerance_us: float = 0.15) -> Range:
    return nominal_us - tolerance_us, nominal_us + tolerance_us


def timed(timing: NrzTiming, base: PixelType = RGB) -> PixelType:
    """A pixel type as a user would write it from the sheet."""
    return base.model_copy(update={"timing": timing})


SHEETS = [
    Sheet(
        "WS2812B data sheet, first revision [S]",
        RGB,
        around(0.40),
        around(0.85),
        around(0.80),
        around(0.45),
        50.0,
    ),
    Sheet(
        "SK6812 RGBW data sheet [S]; its tolerance of 0.15 µs from memory [M]",
        RGBW,
        around(0.30),
        around(0.90),
        around(0.60),
        around(0.60),
        80.0,
    ),
    Sheet(
        "WS2812 data sheet (original part), from memory [M]",
        timed(
            NrzTiming(
                protocol="nrz", t0h_us=0.35, t0l_us=0.80, t1h_us=0.70, t1l_us=0.60, tolerance_us=0.15, reset_us=50.0
            )
        ),
        around(0.35),
        around(0.80),
        around(0.70),
        around(0.60),
        50.0,
    ),
    Sheet(
        "WS2811 data sheet at 800 kbit/s (half of its low-speed times), from memory [M]",
        timed(
            NrzTiming(
                protocol="nrz", t0h_us=0.25, t0l_us=1.00, t1h_us=0.60, t1l_us=0.65, tolerance_us=0.15, reset_us=50.0
            )
        ),
        around(0.25),
        around(1.00),
        around(0.60),
        around(0.65),
        50.0,
    ),
    Sheet(
        "WS2812B data sheet, later revision: T0H 0.22-0.38, T0L and T1H 0.58-1.00, reset over 280, from memory [M]; "
        "its T1L varies between issues (0.22-0.42 or 0.58-1.00), so here only its outer limits",
        LONG_RESET,
        (0.22, 0.38),
        (0.58, 1.00),
        (0.58, 1.00),
        (0.22, 1.00),
        280.0,
    ),
    Sheet(
        "WS2815 data sheet: reset of at least 300 µs [S]; its times as of the part before, from memory [M]",
        TWELVE_VOLT,
        (0.22, 0.38),
        (0.58, 1.00),
        (0.58, 1.00),
        (0.22, 1.00),
        300.0,
    ),
]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.source.split(",")[0].split(":")[0])
def test_every_bit_of_a_frame_is_within_the_data_sheets_limits(sheet: Sheet) -> None:
    pixels = 256
    encoder = NrzEncoder(sheet.kind, pixels)
    # Every byte value on every emitter, so that each bit is seen after each other.
    codes = (np.arange(pixels)[:, None] * [1, 3, 5, 7] % 256).astype(np.uint8)
    line = decode_nrz(encoder.encode(codes), sheet.kind, pixels, encoder.clock_hz)
    ones, zeros = line.bits == 1, line.bits == 0
    # The last bit has no low of its own: it runs into the reset.
    times = {
        "T0H": (line.high_us[zeros], sheet.t0h),
        "T0L": (line.low_us[zeros[:-1]], sheet.t0l),
        "T1H": (line.high_us[ones], sheet.t1h),
        "T1L": (line.low_us[ones[:-1]], sheet.t1l),
    }
    for name, (measured_us, (least_us, most_us)) in times.items():
        assert measured_us.size > 1000, name
        assert least_us <= measured_us.min(), (name, sheet.source)
        assert measured_us.max() <= most_us, (name, sheet.source)
    assert line.reset_us >= sheet.reset_us


def test_an_spi_clock_three_percent_off_still_holds_the_first_revisions_limits() -> None:
    """Ports divide a fixed clock and may miss the one asked for; common practice, no source, that by few percent."""
    encoder = NrzEncoder(RGB, 8)
    data = encoder.encode(np.full((8, 4), 0b10101010, dtype=np.uint8))
    for clock_hz in (round(encoder.clock_hz * 0.97), round(encoder.clock_hz * 1.03)):
        line = decode_nrz(data, RGB, 8, clock_hz)
        ones, zeros = line.bits == 1, line.bits == 0
        assert np.abs(line.high_us[zeros] - 0.40).max() <= 0.15
        assert np.abs(line.high_us[ones] - 0.80).max() <= 0.15
        assert np.abs(line.low_us[zeros[:-1]] - 0.85).max() <= 0.15
        assert np.abs(line.low_us[ones[:-1]] - 0.45).max() <= 0.15
