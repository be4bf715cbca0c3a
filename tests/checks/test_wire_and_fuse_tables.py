"""Ampacity of flexible copper wire and standard fuse ratings, against published tables."""

import pytest

from hub.electrical.ampacity import ambient_factor, ampacity_a, working_c
from hub.electrical.fuses import FuseKind, fitting_ratings_a, largest_rating_a
from schemas.wire_gauge import awg_area_mm2


@pytest.mark.parametrize(("gauge", "amps"), [(18, 10.0), (16, 13.0), (14, 18.0), (12, 25.0)])
def test_pairs_of_flexible_cord_carry_what_nec_400_5_allows(gauge: int, amps: float) -> None:
    """NEC table 400.5(A), two current-carrying conductors, as a UL/ANSI standard quotes it (its table 11.1)."""
    assert ampacity_a(awg_area_mm2(gauge)) == amps


@pytest.mark.parametrize(
    ("area_mm2", "amps"), [(0.5, 3.0), (0.75, 6.0), (1.0, 10.0), (1.5, 15.0), (2.5, 20.0), (4.0, 25.0)]
)
def test_nominal_areas_carry_no_more_than_flexible_cords_are_sold_for(area_mm2: float, amps: float) -> None:
    """Ratings of flexible cord as practitioners quote them (diynot.com; vintage-radio.net): 0.5 mm² 3 A and so on."""
    assert 0.85 * amps <= ampacity_a(area_mm2) <= amps


@pytest.mark.parametrize(
    ("area_mm2", "amps"), [(0.75, 8.5), (1.0, 10.1), (1.5, 13.1), (2.5, 17.4), (4.0, 23.0), (6.0, 30.0), (10.0, 40.0)]
)
def test_nominal_areas_stay_near_machine_wiring_in_conduit(area_mm2: float, amps: float) -> None:
    """IEC 60204-1 table 6, method B2, PVC, 40 °C (from memory): ours, for 30 °C, is at most 9 % above."""
    assert ampacity_a(area_mm2) <= 1.09 * amps


@pytest.mark.parametrize(("together", "factor"), [(4, 0.8), (6, 0.8), (7, 0.7), (9, 0.7), (10, 0.5), (20, 0.5)])
def test_conductors_together_carry_less(together: int, factor: float) -> None:
    """NEC table 400.5(A)(3) (ecmweb.com, Code Q&A on flexible cords): 4 to 6 80 %, 7 to 9 70 %, 10 to 20 50 %."""
    assert ampacity_a(2.5, loaded_conductors=together) == pytest.approx(factor * ampacity_a(2.5, loaded_conductors=3))


@pytest.mark.parametrize(
    ("ambient_c", "factor"), [(35.0, 0.91), (40.0, 0.82), (45.0, 0.71), (50.0, 0.58), (55.0, 0.41)]
)
def test_warm_air_leaves_the_factors_of_nec_310_15_b(ambient_c: float, factor: float) -> None:
    """NEC table 310.15(B)(2)(a), 60 °C column (from memory), at the upper end of each of its steps."""
    assert ambient_factor(ambient_c) == pytest.approx(factor, abs=0.006)


def test_thicker_wire_never_carries_less_and_cold_air_gives_nothing() -> None:
    areas = [0.05, 0.2, 0.326, 0.5, 0.518, 0.75, 0.823, 1.0, 1.31, 1.5, 2.08, 2.5, 3.31, 4.0, 6.0, 10.0, 50.0, 100.0]
    for together in (2, 3, 6):
        amps = [ampacity_a(area, loaded_conductors=together) for area in areas]
        assert amps == sorted(amps)
    assert ampacity_a(1.5, ambient_c=-10.0) == ampacity_a(1.5)
    assert ampacity_a(1.5, ambient_c=60.0) == 0.0


def test_a_conductor_at_its_ampacity_is_at_60_c() -> None:
    assert working_c(13.0, 1.5) == pytest.approx(60.0)
    assert working_c(6.5, 1.5) == pytest.approx(37.5)
    assert working_c(ampacity_a(1.5, ambient_c=45.0), 1.5, ambient_c=45.0) == pytest.approx(60.0)


def test_fuse_lies_between_load_and_wire() -> None:
    """8 A need 10 A at 80 % (common practice); 1.5 mm² carries 13 A and allows nothing larger."""
    assert fitting_ratings_a(8.0, 13.0, FuseKind.BLADE) == (10.0,)
    assert fitting_ratings_a(8.1, 13.0, FuseKind.BLADE) == ()


def test_a_slow_cartridge_must_be_smaller_than_the_wire() -> None:
    """It may hold 2.1 times its rating for half an hour (IEC 60127-2), the wire bears 1.45 (IEC 60364-4-43; memory)."""
    assert largest_rating_a(13.0, FuseKind.CARTRIDGE) == pytest.approx(8.98, abs=0.01)
    assert largest_rating_a(13.0, FuseKind.BLADE) == 13.0
