"""Voltage drop of two-wire circuits: published worked examples, theirs beside ours. `pytest -s` prints the table."""

from dataclasses import dataclass

import pytest

from hub.electrical.copper import IEC_60228_SOLID_OHM_PER_KM, conductor_ohm_per_m, gauge_ohm_per_m, temperature_factor
from schemas.wire_gauge import awg_area_mm2

FOOT_M = 0.3048


@dataclass(frozen=True)
class Example:
    """A circuit as published: one-way metres, amps, ohms per metre of a conductor by our means, and their volts."""

    title: str
    source: str
    length_m: float
    current_a: float
    ohm_per_m: float
    theirs_v: float
    tolerance: float

    @property
    def ours_v(self) -> float:
        return 2 * self.length_m * self.current_a * self.ohm_per_m


EXAMPLES = (
    Example(
        "16 AWG, 100 ft, 4 A, 75 °C",
        "electrician2.com, training page 135: 2 × 100 × 4.99/1000 × 4 by NEC table 8",
        100 * FOOT_M, 4.0, gauge_ohm_per_m(16, 75.0), 4.0, 0.01,
    ),
    Example(
        "12 AWG, 100 ft, 20 A, 75 °C",
        "tradelicenseprep.com: 2 × 12.9 × 20 × 100 / 6530",
        100 * FOOT_M, 20.0, gauge_ohm_per_m(12, 75.0), 7.9, 0.01,
    ),
    Example(
        "8 AWG, 100 ft, 20 A, 75 °C",
        "tradelicenseprep.com: 2 × 12.9 × 20 × 100 / 16510",
        100 * FOOT_M, 20.0, gauge_ohm_per_m(8, 75.0), 3.1, 0.02,
    ),
    Example(
        "12 AWG, 100 ft, 20 A, 20 °C",
        "voltagedropcalculator.net: 2 × 0.017241 × 20 × 30.48 / 3.31",
        100 * FOOT_M, 20.0, conductor_ohm_per_m(awg_area_mm2(12), 20.0), 6.35, 0.01,
    ),
    Example(
        "4 AWG, 100 ft, 10 A, 24 V, 2 %",
        "greenwired.net, its index of 20 for 4 AWG: 1000 / (24 × 20) = 2.083 %",
        100 * FOOT_M, 10.0, conductor_ohm_per_m(awg_area_mm2(4), 20.0), 24 * 0.02083, 0.02,
    ),
    Example(
        "2.5 mm² solid, 40 m, 21.74 A, 70 °C",
        "an unsigned page on cable sizes after IEC 60364-5-52: 2 × 40 × 21.74 × 8.91/1000",
        40.0, 21.74, IEC_60228_SOLID_OHM_PER_KM[2.5] * 1e-3 * temperature_factor(70.0), 15.5, 0.01,
    ),
    *(
        Example(
            f"{area_mm2:g} mm² solid, 1 m, 1 A, 70 °C",
            "BS 7671 table 4D2B, two-core, DC, mV/A/m, from memory",
            1.0, 1.0, IEC_60228_SOLID_OHM_PER_KM[area_mm2] * 1e-3 * temperature_factor(70.0), millivolts * 1e-3, 0.02,
        )
        for area_mm2, millivolts in ((1.0, 44.0), (1.5, 29.0), (2.5, 18.0), (4.0, 11.0), (6.0, 7.3), (10.0, 4.4))
    ),
)  # fmt: skip


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.title)
def test_drop_agrees_with_the_published_example(example: Example) -> None:
    print(f"\n{example.title}: theirs {example.theirs_v:.4g} V, ours {example.ours_v:.4g} V. {example.source}")
    assert example.ours_v == pytest.approx(example.theirs_v, rel=example.tolerance)


def test_the_boatbuilders_formula_and_ours_choose_the_same_wire() -> None:
    """CM = K × I × L / E with K 10.75: 10 A, 11 + 10 ft, 3 % of 12 V: 6,271 circular mils, 12 AWG (6,500) is right.

    Source: a marine distributor's page on keeping three per cent voltage drop (jamestowndistributors.com).
    """
    drops = {
        gauge: 10.0 * 21 * FOOT_M * conductor_ohm_per_m(awg_area_mm2(gauge), 30.0) for gauge in (16, 14, 12, 10, 8)
    }
    assert max(gauge for gauge, drop_v in drops.items() if drop_v <= 0.36) == 12
    circular_mils = 10.0 * 21 * FOOT_M * conductor_ohm_per_m(1.0, 30.0) / 0.36 / 506.7e-6
    assert circular_mils == pytest.approx(10.75 * 10 * 21 / 0.36, rel=5e-3)


@pytest.mark.parametrize(
    ("gauge", "ohm_per_ft"), [(6, 0.00044), (4, 0.00028), (12, 0.00202), (14, 0.00306), (10, 0.00126)]
)
def test_aircraft_wire_of_a_gauge_has_up_to_30_per_cent_more_resistance(gauge: int, ohm_per_ft: float) -> None:
    """FAA AC 43.13-1B, table 11-7 and 11-8: tin-plated aircraft wire at 20 °C. The one table we do not agree with.

    That wire has less copper than its gauge says. Whoever uses such wire states its area in mm² instead.
    """
    ours = gauge_ohm_per_m(gauge, 20.0) * FOOT_M
    assert 1.0 < ohm_per_ft / ours < 1.30
