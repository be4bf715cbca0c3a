"""Resistance of copper wire against IEC 60228, NEC chapter 9 table 8 and published temperature corrections."""

import pytest

from hub.electrical.copper import (
    IEC_60228_FLEXIBLE_OHM_PER_KM,
    IEC_60228_SOLID_OHM_PER_KM,
    NEC_TABLE_8_OHM_PER_KM,
    conductor_ohm_per_m,
    flexible_ohm_per_m,
    gauge_ohm_per_m,
    loop_ohm,
    temperature_factor,
)
from schemas import Feed
from schemas.wire_gauge import awg_area_mm2


@pytest.mark.parametrize(
    ("gauge", "ohm_per_km"),
    [
        (10, 3.277),
        (12, 5.211),
        (14, 8.285),
        (16, 13.17),
        (18, 20.95),
        (20, 33.31),
        (22, 52.96),
        (24, 84.21),
        (26, 133.9),
    ],
)
def test_gauges_at_20_c_have_the_resistance_of_the_copper_wire_tables(gauge: int, ohm_per_km: float) -> None:
    """ASTM B258 geometry (from memory) and 17.241 Ω·mm²/km; the usual copper wire tables print the same figures."""
    assert conductor_ohm_per_m(awg_area_mm2(gauge), 20.0) * 1e3 == pytest.approx(ohm_per_km, rel=5e-4)


@pytest.mark.parametrize("gauge", NEC_TABLE_8_OHM_PER_KM)
def test_gauges_at_75_c_agree_with_nec_chapter_9_table_8(gauge: int) -> None:
    """Solid by geometry to the table's three figures; stranded never below the table and at most 0.5 % above."""
    solid, stranded = NEC_TABLE_8_OHM_PER_KM[gauge]
    assert conductor_ohm_per_m(awg_area_mm2(gauge), 75.0) * 1e3 == pytest.approx(solid, rel=3e-3)
    assert gauge_ohm_per_m(gauge, 75.0) * 1e3 == pytest.approx(stranded, rel=5e-3)


@pytest.mark.parametrize(("gauge", "ohm_per_km"), [(14, 10.072), (12, 6.332), (10, 3.970), (8, 2.507), (6, 1.611)])
def test_thicker_gauges_agree_with_a_second_transcription_of_table_8(gauge: int, ohm_per_km: float) -> None:
    """Stranded, 3.07, 1.93, 1.21, 0.764 and 0.491 Ω/kft (voltdropcalc.com, its annotated table 8).

    Its 14 and 12 AWG are table 8's values for solid wire (3.14 and 1.98 stranded): ours may be 2.5 % above.
    """
    assert ohm_per_km * 0.995 <= gauge_ohm_per_m(gauge, 75.0) * 1e3 <= ohm_per_km * 1.03


@pytest.mark.parametrize(("conductor_c", "to_20_c"), [(30.0, 0.962), (60.0, 0.862), (75.0, 0.820)])
def test_temperature_coefficient_agrees_with_the_corrections_of_iec_60228(conductor_c: float, to_20_c: float) -> None:
    """IEC 60228 annex: factors to 20 °C, which round the coefficient to 1/250; ours differs by 0.3 % at most."""
    assert 1 / temperature_factor(conductor_c) == pytest.approx(to_20_c, rel=3e-3)


@pytest.mark.parametrize("conductor_c", [0.0, 20.0, 50.0, 105.0])
def test_temperature_coefficient_agrees_with_aircraft_practice(conductor_c: float) -> None:
    """FAA AC 43.13-1B, paragraph 11-66: the length allowed at T₂ is 254.5 × L₁ / (234.5 + T₂) for copper."""
    assert 1 / temperature_factor(conductor_c) == pytest.approx(254.5 / (234.5 + conductor_c), rel=2e-3)


def test_nominal_areas_are_taken_at_the_maximum_of_class_5() -> None:
    for area_mm2, ohm_per_km in IEC_60228_FLEXIBLE_OHM_PER_KM.items():
        assert flexible_ohm_per_m(area_mm2, 20.0) * 1e3 == pytest.approx(ohm_per_km)


def test_geometry_never_exceeds_a_published_maximum() -> None:
    """A conductor with all the metal of its name is better than the standard demands; so the maximum is careful."""
    for table in (IEC_60228_SOLID_OHM_PER_KM, IEC_60228_FLEXIBLE_OHM_PER_KM):
        for area_mm2, ohm_per_km in table.items():
            assert 0.85 * ohm_per_km < conductor_ohm_per_m(area_mm2, 20.0) * 1e3 < ohm_per_km


@pytest.mark.parametrize(
    ("area_mm2", "flexible", "solid"),
    [(0.5, 39.0, None), (0.75, 26.0, None), (1.0, 19.5, 18.1), (1.5, 13.3, 12.1), (2.5, 7.98, 7.41), (4.0, 4.95, None)],
)
def test_tables_agree_with_a_cable_makers_sheet(area_mm2: float, flexible: float, solid: float | None) -> None:
    """A maker's sheet of flexible cables to BS EN 60228 (darshancable.com): maximum Ω/km at 20 °C, class 5 and 2."""
    assert IEC_60228_FLEXIBLE_OHM_PER_KM[area_mm2] == flexible
    if solid is not None:
        assert IEC_60228_SOLID_OHM_PER_KM[area_mm2] == solid


def test_an_area_that_is_no_nominal_one_is_never_better_than_its_neighbours() -> None:
    areas = [0.3, 0.5, 0.6, 0.75, 0.9, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 13.0, 16.0, 20.0, 25.0]
    ohms = [flexible_ohm_per_m(area, 30.0) for area in areas]
    assert ohms == sorted(ohms, reverse=True)


def test_a_feed_counts_both_conductors_at_their_temperature() -> None:
    by_area = Feed(supply="psu", wire_mm2=1.5, length_m=4.0, conductor_c=30.0)
    assert loop_ohm(by_area) == pytest.approx(2 * 4.0 * 13.3e-3 * 1.0393)
    by_gauge = Feed(supply="psu", wire_awg=16, length_m=4.0, conductor_c=75.0)
    assert loop_ohm(by_gauge) == pytest.approx(2 * 4.0 * 16.4e-3, rel=5e-3)
