"""Amps that a flexible copper conductor may carry for long: from published tables, with their corrections."""

import bisect
import math
from typing import Final

from schemas.wire_gauge import awg_area_mm2

SOURCE: Final = (
    "Ampacity from 18 AWG up: NEC table 400.5(A)(1), flexible cords, 30 °C ambient, 60 °C insulation (two conductors, "
    "18 to 12 AWG, seen where another standard quotes them; the rest from memory). 0.5 and 0.75 mm²: 3 A and 6 A, as "
    "flexible cords under BS 7671 table 4F3A (values seen, the table from memory). Thinner: no table; 6 A a mm², what "
    "0.5 mm² carries, for a thinner wire cools better. Ambient: NEC 310.15(B), √((60 − t)/30), from memory."
)
AMBIENT_C: Final = 30.0
INSULATION_C: Final = 60.0
THINNEST_IN_TABLE_MM2: Final = 0.5
_THIN_A_PER_MM2: Final = 6.0

# mm², amps of a pair, amps where three conductors or more lie together. A pair of 0.5 or 0.75 mm² has no second column
# in its table; it gets the ratio of the thinnest gauge that has one.
_TABLE: Final = (
    (0.5, 3.0, 2.1),
    (0.75, 6.0, 4.2),
    (awg_area_mm2(18), 10.0, 7.0),
    (awg_area_mm2(16), 13.0, 10.0),
    (awg_area_mm2(14), 18.0, 15.0),
    (awg_area_mm2(12), 25.0, 20.0),
    (awg_area_mm2(10), 30.0, 25.0),
    (awg_area_mm2(8), 40.0, 35.0),
    (awg_area_mm2(6), 55.0, 45.0),
    (awg_area_mm2(4), 70.0, 60.0),
    (awg_area_mm2(2), 95.0, 80.0),
)
_AREAS: Final = tuple(area_mm2 for area_mm2, _pair, _more in _TABLE)
# Up to so many loaded conductors together: of the second column, that part (NEC table 400.5(A)(3)).
_TOGETHER: Final = ((3, 1.0), (6, 0.8), (9, 0.7), (20, 0.5), (30, 0.45), (40, 0.4))
_MANY_TOGETHER: Final = 0.35


def ampacity_a(area_mm2: float, *, ambient_c: float = AMBIENT_C, loaded_conductors: int = 2) -> float:
    """Amps that each conductor of `area_mm2` may carry for long; 0 where the air is as hot as its insulation may get.

    An area between two of the table counts as the smaller one, one above the table as its last. A feed alone has two
    loaded conductors; feeds that lie in one bundle or conduit count together. Below 30 °C nothing is gained.
    """
    if area_mm2 < THINNEST_IN_TABLE_MM2:
        pair_a = _THIN_A_PER_MM2 * area_mm2
        together_a = pair_a * 0.7
    else:
        # Room for the rounding of an area that was stated in mm² for a gauge.
        _area, pair_a, together_a = _TABLE[bisect.bisect_right(_AREAS, area_mm2 * 1.0005) - 1]
    amps = pair_a if loaded_conductors <= 2 else together_a * _together_factor(loaded_conductors)
    return amps * ambient_factor(ambient_c)


def ambient_factor(ambient_c: float) -> float:
    """What warm air leaves of an ampacity: √((60 − t) / (60 − 30)), at most 1."""
    return math.sqrt(min(max(INSULATION_C - ambient_c, 0.0) / (INSULATION_C - AMBIENT_C), 1.0))


def working_c(current_a: float, area_mm2: float, *, ambient_c: float = AMBIENT_C, loaded_conductors: int = 2) -> float:
    """Temperature of a conductor that carries `current_a` for long, °C.

    Heat is I²R, so its rise above the air goes with the square of the current; at its ampacity in air of 30 °C it is at
    60 °C, 30 K above.
    """
    limit_a = ampacity_a(area_mm2, loaded_conductors=loaded_conductors)
    return ambient_c + (INSULATION_C - AMBIENT_C) * (current_a / limit_a) ** 2


def _together_factor(loaded_conductors: int) -> float:
    return next((factor for most, factor in _TOGETHER if loaded_conductors <= most), _MANY_TOGETHER)
