import math

import pytest

from schemas.wire_gauge import awg_area_mm2, awg_diameter_mm


def test_the_two_gauges_that_define_the_others_are_exact() -> None:
    """ASTM B258, from memory: 36 is 0.005 in; 0 is three steps of the 39th root of 92 below 4/0, which is 0.46 in."""
    assert awg_diameter_mm(36) == pytest.approx(0.005 * 25.4, rel=1e-12)
    assert awg_diameter_mm(0) * 92 ** (3 / 39) == pytest.approx(0.46 * 25.4, rel=1e-9)


@pytest.mark.parametrize(
    ("gauge", "area_mm2"), [(10, 5.26), (12, 3.31), (14, 2.08), (16, 1.31), (18, 0.823), (20, 0.518), (22, 0.326)]
)
def test_area_agrees_with_the_usual_tables(gauge: int, area_mm2: float) -> None:
    """NEC chapter 9 table 8 and common tables, from memory, to their three figures."""
    assert awg_area_mm2(gauge) == pytest.approx(area_mm2, rel=2e-3)


def test_six_gauges_thinner_is_half_the_diameter_nearly() -> None:
    assert math.isclose(awg_diameter_mm(10) / awg_diameter_mm(16), 92 ** (6 / 39))


@pytest.mark.parametrize("gauge", [-1, 41])
def test_gauge_outside_the_table_is_refused(gauge: int) -> None:
    with pytest.raises(ValueError, match="0 to 40"):
        awg_area_mm2(gauge)
