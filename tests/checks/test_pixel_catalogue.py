"""The catalogue against what data sheets and the trade publish.

Tags: [S] as seen in a transcription of the named data sheet, [M] from memory of it, [P] common practice, no source.
Bit times are held against their sheets in test_nrz_timing.py, frames of clocked pixels in test_clocked_frame.py.
"""

import pytest

from schemas import PIXEL_CATALOGUE, ClockedTiming, NrzTiming

RESETS_US = {  # least low at the end of a frame
    "rgb-5v-nrz800": 50,  # WS2812B data sheet, first revision [S]
    "rgb-5v-nrz800-long-reset": 280,  # WS2812B data sheet, later revision [M]
    "rgbw-5v-nrz800": 80,  # SK6812 data sheet [S]
    "rgb-12v-nrz800": 300,  # WS2815 data sheet [S]
    "rgb-12v-nrz800-three-leds": 50,  # WS2811 data sheet [M]
    "rgb-24v-nrz800-six-leds": 50,  # WS2811 data sheet [M]
    "rgbw-12v-nrz800-three-leds": 280,  # WS2814 data sheet [M]
    "rgbw-24v-nrz800-six-leds": 280,  # WS2814 data sheet [M]
}


@pytest.mark.parametrize("key", sorted(RESETS_US))
def test_frames_end_with_the_reset_of_the_data_sheet(key: str) -> None:
    timing = PIXEL_CATALOGUE[key].timing
    assert isinstance(timing, NrzTiming)
    assert timing.reset_us >= RESETS_US[key]


@pytest.mark.parametrize("key", sorted(RESETS_US))
def test_a_bit_takes_1_25_us_or_the_sheets_1_2(key: str) -> None:
    """800 kbit/s: WS2812B data sheet, first revision [S]; SK6812 0.30 + 0.90 µs [S]."""
    timing = PIXEL_CATALOGUE[key].timing
    assert isinstance(timing, NrzTiming)
    assert timing.bit_us == pytest.approx(1.2 if key == "rgbw-5v-nrz800" else 1.25)


@pytest.mark.parametrize("key", ["rgb-12v-nrz800-three-leds", "rgb-24v-nrz800-six-leds"])
def test_1024_pixels_of_a_driver_chip_can_be_shown_30_times_a_second(key: str) -> None:
    """WS2811 data sheet [S]: at least 1,024 pixels at 30 frames a second."""
    assert 1 / PIXEL_CATALOGUE[key].wire_time_s(1024) >= 30


@pytest.mark.parametrize("key", ["rgb-5v-nrz800", "rgb-5v-nrz800-long-reset", "rgb-5v-clocked"])
def test_a_5_volt_rgb_pixel_is_60_ma_at_full_white_and_20_typically(key: str) -> None:
    """[P]; a part's sheet says 12 to 20 mA an emitter by revision [M]."""
    kind = PIXEL_CATALOGUE[key]
    assert kind.full_pixel_ma == pytest.approx(60, rel=0.02)
    assert kind.typical_ma == 20


def test_150_pixels_of_5_volt_rgb_are_9_amps_at_worst_and_3_typically() -> None:
    """[P]"""
    kind = PIXEL_CATALOGUE["rgb-5v-nrz800"]
    assert 150 * kind.full_pixel_ma == pytest.approx(9_000)
    assert 150 * kind.typical_ma == pytest.approx(3_000)


def test_12_volt_pixels_with_a_backup_line_work_from_9_volts_draw_15_ma_and_redraw_2000_times_a_second() -> None:
    """WS2815 data sheet: 9 to 13 V, 2 kHz [S]; about 15 mA a pixel in all [M]."""
    kind = PIXEL_CATALOGUE["rgb-12v-nrz800"]
    assert kind.minimum_volts == 9
    assert kind.volts <= 13
    assert kind.refresh_hz == 2_000
    assert kind.full_pixel_ma == pytest.approx(15)


def test_clocked_pixels_take_blue_first_and_half_a_bit_of_end_each() -> None:
    """APA102 data sheet [S]."""
    kind = PIXEL_CATALOGUE["rgb-5v-clocked"]
    assert isinstance(kind.timing, ClockedTiming)
    assert kind.colour_order == "BGR"
    assert (kind.timing.start_bits, kind.timing.level_bits, kind.timing.end_bits_per_pixel) == (32, 5, 0.5)


@pytest.mark.parametrize(
    "key",
    [key for key, kind in PIXEL_CATALOGUE.items() if kind.leds_per_pixel > 1],
)
def test_leds_in_series_fit_into_the_volts(key: str) -> None:
    """Three LEDs of about 3.2 V at 12 V, six at 24 V [P]; below what they need the current falls."""
    kind = PIXEL_CATALOGUE[key]
    assert kind.leds_per_pixel == {12.0: 3, 24.0: 6}[kind.volts]
    assert kind.leds_per_pixel * 3.2 < kind.minimum_volts < kind.volts
    assert kind.current_below_minimum == "falls"
