"""The choice of SPI clock and symbol from a pixel type's own timing."""

import pytest

from node_agent.outputs import OutputError, choose_symbol
from node_agent.outputs.nrz_symbol import nrz_timing
from schemas import PIXEL_CATALOGUE, NrzTiming, PixelType

NRZ = {key: kind for key, kind in PIXEL_CATALOGUE.items() if isinstance(kind.timing, NrzTiming)}


def timed(**timing: float) -> PixelType:
    base = PIXEL_CATALOGUE["rgb-5v-nrz800"]
    return base.model_copy(update={"timing": NrzTiming(**(base.timing.model_dump() | timing))})


def test_thirds_serve_a_bit_of_one_third_and_two_thirds() -> None:
    symbol = choose_symbol(PIXEL_CATALOGUE["rgb-5v-nrz800"])
    assert (symbol.pattern(one=False), symbol.pattern(one=True)) == ((1, 0, 0), (1, 1, 0))
    assert symbol.clock_hz == 2_400_000


def test_quarters_serve_a_bit_of_one_quarter_and_one_half() -> None:
    symbol = choose_symbol(PIXEL_CATALOGUE["rgbw-5v-nrz800"])
    assert (symbol.pattern(one=False), symbol.pattern(one=True)) == ((1, 0, 0, 0), (1, 1, 0, 0))
    assert symbol.margin_us == pytest.approx(0.15, abs=1e-5)


@pytest.mark.parametrize("key", sorted(NRZ))
def test_every_pixel_type_of_the_catalogue_keeps_40_ns_to_its_limits(key: str) -> None:
    assert choose_symbol(PIXEL_CATALOGUE[key]).margin_us >= 0.04


def test_a_symbol_fills_the_bit_of_the_data_sheet() -> None:
    for kind in NRZ.values():
        symbol = choose_symbol(kind)
        assert symbol.bits / symbol.clock_hz * 1e6 == pytest.approx(nrz_timing(kind).bit_us, rel=1e-5)


def test_a_timing_that_no_symbol_fits_is_refused_with_its_field_and_remedy() -> None:
    narrow = timed(t0h_us=0.05, t0l_us=2.0, t1h_us=0.09, t1l_us=1.0, tolerance_us=0.02)
    with pytest.raises(OutputError) as caught:
        choose_symbol(narrow)
    assert caught.value.field == "pixel_type rgb-5v-nrz800: timing"
    assert "T0H 0.05" in caught.value.reason
    assert caught.value.remedy == "compare the times and the tolerance with the pixel's data sheet"


def test_a_zero_that_cannot_be_told_from_a_one_is_refused() -> None:
    with pytest.raises(OutputError, match="no symbol"):
        choose_symbol(timed(t0h_us=0.60, t0l_us=0.65, t1h_us=0.62, t1l_us=0.63, tolerance_us=0.15))
