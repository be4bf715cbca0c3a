"""The formulas and sources behind the audit's figures, in words for its last page."""

from typing import Final

from hub.electrical.ampacity import SOURCE as AMPACITY_SOURCE
from hub.electrical.class_2 import SOURCE as CLASS_2_SOURCE
from hub.electrical.copper import RESISTIVITY_OHM_MM2_PER_M, TEMPERATURE_COEFFICIENT_PER_K
from hub.electrical.fuses import MOST_OF_FUSE
from hub.electrical.fuses import SOURCE as FUSE_SOURCE

FORMULAS: Final = (
    "Budget = rated amps × derating. Left = budget − amps. A supply's worst case and typical draw are the sums over "
    "the pixels that its boards count to it: each to the nearest feed of its own section of positive rail.",
    f"Feed: R = 2 × length × ρ ÷ area × (1 + {TEMPERATURE_COEFFICIENT_PER_K:g} × (t − 20 °C)), both conductors, "
    f"ρ = {RESISTIVITY_OHM_MM2_PER_M * 1e3:.3f} mΩ·mm²/m (IEC 60028); for areas of IEC 60228 its class 5 maximum "
    "instead. Drop = amps × R, heat = amps² × R.",
    "Run: from pixel to pixel the volts fall by amps × loop ohms a metre ÷ pixels a metre; at each pixel the amps that "
    "come equal the amps that leave and the pixel's own (Kirchhoff's laws), solved for all pixels and feeds together.",
    f"Fuse: at least amps under the budget ÷ {MOST_OF_FUSE:g}, at most what protects its wire. {FUSE_SOURCE}",
    AMPACITY_SOURCE,
    f"Class 2: {CLASS_2_SOURCE}.",
)
