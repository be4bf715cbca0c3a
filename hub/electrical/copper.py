"""Resistance of copper conductors: by geometry, by the maxima of IEC 60228, and by NEC chapter 9 table 8."""

from types import MappingProxyType
from typing import Final

from schemas import Feed
from schemas.wire_gauge import awg_area_mm2

RESISTIVITY_OHM_MM2_PER_M: Final = 17.241e-3
"""Annealed copper at 20 °C: 58 MS/m, the International Annealed Copper Standard (IEC 60028)."""

TEMPERATURE_COEFFICIENT_PER_K: Final = 0.00393
"""Of that copper's resistance, at 20 °C (IEC 60028, from memory)."""

REFERENCE_C: Final = 20.0

IEC_60228_SOLID_OHM_PER_KM: Final = MappingProxyType(
    {0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83}
)
"""Maximum at 20 °C by nominal area in mm², class 1 (solid) and 2 (stranded), plain copper."""

IEC_60228_FLEXIBLE_OHM_PER_KM: Final = MappingProxyType(
    {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21, 25.0: 0.780}
)
"""Maximum at 20 °C by nominal area in mm², class 5 (flexible), plain copper; 16 and 25 mm² from memory."""

NEC_TABLE_8_OHM_PER_KM: Final = MappingProxyType(
    {18: (25.5, 26.1), 16: (16.0, 16.4), 14: (10.1, 10.3), 12: (6.34, 6.50)}
)
"""By gauge: solid and stranded, uncoated copper at 75 °C (NEC chapter 9 table 8)."""

_GAUGE_STRANDING: Final = max(stranded / solid for solid, stranded in NEC_TABLE_8_OHM_PER_KM.values())
_AREA_STRANDING: Final = max(
    ohm_per_km * area_mm2 / (RESISTIVITY_OHM_MM2_PER_M * 1e3)
    for area_mm2, ohm_per_km in IEC_60228_FLEXIBLE_OHM_PER_KM.items()
)


def temperature_factor(conductor_c: float) -> float:
    """Resistance at `conductor_c` over that at 20 °C: 1 + 0.00393 × (t − 20)."""
    return 1.0 + TEMPERATURE_COEFFICIENT_PER_K * (conductor_c - REFERENCE_C)


def conductor_ohm_per_m(area_mm2: float, conductor_c: float) -> float:
    """Ohms per metre of one conductor that has `area_mm2` of metal in it: ρ / A at its temperature, no allowance."""
    return RESISTIVITY_OHM_MM2_PER_M / area_mm2 * temperature_factor(conductor_c)


def flexible_ohm_per_m(area_mm2: float, conductor_c: float) -> float:
    """Ohms per metre of one flexible conductor sold as `area_mm2`.

    A nominal area of IEC 60228 is a name for a maximum resistance, and the conductor may have less metal than the name
    says: taken is the maximum of class 5, the careful side. Other areas get the largest allowance found in that table.
    """
    maximum = IEC_60228_FLEXIBLE_OHM_PER_KM.get(area_mm2)
    if maximum is not None:
        return maximum * 1e-3 * temperature_factor(conductor_c)
    return conductor_ohm_per_m(area_mm2, conductor_c) * _AREA_STRANDING


def gauge_ohm_per_m(gauge: int, conductor_c: float) -> float:
    """Ohms per metre of one stranded conductor of an American Wire Gauge.

    A gauge states the metal's area, so geometry holds; strands are longer than the wire, for which table 8 of the NEC
    gives 2.0 to 2.5 % more than solid. Taken is the largest of its ratios.
    """
    return conductor_ohm_per_m(awg_area_mm2(gauge), conductor_c) * _GAUGE_STRANDING


def loop_ohm(feed: Feed) -> float:
    """Ohms of a feed's two conductors, out and back, at `feed.conductor_c`; its wire is taken for flexible."""
    if feed.wire_awg is not None:
        return 2.0 * feed.length_m * gauge_ohm_per_m(feed.wire_awg, feed.conductor_c)
    return 2.0 * feed.length_m * flexible_ohm_per_m(feed.area_mm2, feed.conductor_c)
