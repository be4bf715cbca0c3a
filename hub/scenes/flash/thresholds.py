"""The published thresholds of flashes, and the two tests of each kind that a scene is held against.

WCAG 2.2, success criterion 2.3.1 with its definition "general flash and red flash thresholds"; Recommendation ITU-R
BT.1702. Both are written for screens.
"""

import math
from enum import StrEnum
from typing import Final


class Test(StrEnum):
    """A kind of flash by a standard."""

    GENERAL_WCAG = "general flashes, WCAG 2.2 SC 2.3.1"
    GENERAL_BT1702 = "general flashes, ITU-R BT.1702"
    RED_WCAG = "red flashes, WCAG 2.2 SC 2.3.1"

    __test__ = False  # a word of this trade, not a case of pytest's


FLASHES_ALLOWED: Final = 3
"""In any second; one more fails (both standards)."""
SECOND_S: Final = 1.0

GENERAL_CHANGE: Final = 0.10
"""Change of relative luminance that counts, of full light (WCAG 2.2)."""
GENERAL_DARKER_BELOW: Final = 0.80
"""The darker state must lie below this relative luminance (WCAG 2.2)."""

FULL_LIGHT_CD_PER_M2: Final = 200.0
"""What full light is taken for: the peak of the screens that BT.1702's figures are written for. A lit front has no
such figure of its own."""
CHANGE_CD_PER_M2: Final = 20.0
DARKER_BELOW_CD_PER_M2: Final = 160.0
MICHELSON: Final = 1 / 17
"""(lighter − darker) / (lighter + darker) that counts where the darker state has 160 cd/m² or more (BT.1702)."""

RED_SHARE: Final = 0.8
"""R/(R+G+B), linear, from which a state is a saturated red (WCAG 2.2)."""
RED_CHANGE: Final = 0.2
"""Distance of two states in CIE 1976 u′v′ beyond which they oppose (WCAG 2.2)."""

AREA_SR: Final = 0.006
"""Area that may flash, of any field of 10°: 25 % of it (WCAG 2.2; BT.1702 says 25 % of the screen)."""
FIELD_RADIUS_RAD: Final = math.radians(5.0)

ROUNDING: Final = 1e-6
"""What float32 may lose: levels that differ by no more count as equal."""
