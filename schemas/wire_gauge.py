"""American Wire Gauge: the area of a solid round conductor."""

import math

FINEST_GAUGE = 40


def awg_diameter_mm(gauge: int) -> float:
    """Diameter in mm of a solid conductor of `gauge` (0 stands for 1/0).

    ASTM B258, from memory: 36 is 0.005 in, 4/0 is 0.46 in, and the 39 steps between them have one ratio, the 39th root
    of 92: d = 0.127 mm x 92^((36 - gauge) / 39).
    """
    if not 0 <= gauge <= FINEST_GAUGE:
        raise ValueError(f"a wire gauge is a whole number from 0 to {FINEST_GAUGE}, not {gauge}")
    return float(0.127 * 92.0 ** ((36 - gauge) / 39.0))


def awg_area_mm2(gauge: int) -> float:
    """Area in mm² of a solid conductor of `gauge`; a stranded one has the same metal in it."""
    return math.pi / 4.0 * awg_diameter_mm(gauge) ** 2
