"""Pixel types that the product knows by itself. Keys are neutral; the part number is only the citation of a data sheet.

Idle current is counted inside the 60 mA design figure, so that 150 pixels come to the trade's 9.0 A and not more.
"""

from types import MappingProxyType
from typing import Final

from schemas.pixel_type import EmitterCurrents, NrzTiming, PixelType

_RULE_OF_THUMB = "Currents: common practice, no source (60 mA at full white, 20 mA typical)."

_TYPES: Final = (
    PixelType(
        key="rgb-5v-nrz800",
        title="RGB, 5 V, single wire, 800 kbit/s",
        volts=5.0,
        minimum_volts=3.5,
        colour_order="GRB",
        timing=NrzTiming(t0h_us=0.40, t0l_us=0.85, t1h_us=0.80, t1l_us=0.45, tolerance_us=0.15, reset_us=50.0),
        idle_ma=0.9,
        full_ma=EmitterCurrents(red=19.7, green=19.7, blue=19.7),
        typical_ma=20.0,
        source=f"Timing: WS2812B data sheet, first revision. {_RULE_OF_THUMB} Idle and minimum volts: from memory.",
    ),
    PixelType(
        key="rgb-5v-nrz800-long-reset",
        title="RGB, 5 V, single wire, 800 kbit/s, 280 µs reset",
        volts=5.0,
        minimum_volts=3.7,
        colour_order="GRB",
        timing=NrzTiming(t0h_us=0.30, t0l_us=0.95, t1h_us=0.70, t1l_us=0.55, tolerance_us=0.08, reset_us=300.0),
        idle_ma=0.9,
        full_ma=EmitterCurrents(red=19.7, green=19.7, blue=19.7),
        typical_ma=20.0,
        source=f"Timing: WS2812B data sheet, later revision, from memory (centres of its ranges). {_RULE_OF_THUMB}",
    ),
    PixelType(
        key="rgbw-5v-nrz800",
        title="RGBW, 5 V, single wire, 800 kbit/s",
        volts=5.0,
        minimum_volts=3.5,
        colour_order="GRBW",
        timing=NrzTiming(t0h_us=0.30, t0l_us=0.90, t1h_us=0.60, t1l_us=0.60, tolerance_us=0.15, reset_us=80.0),
        idle_ma=1.0,
        full_ma=EmitterCurrents(red=19.0, green=19.0, blue=19.0, white=19.0),
        typical_ma=20.0,
        source="Timing: SK6812 RGBW data sheet. Currents: from memory, about 20 mA an emitter. Idle: from memory.",
    ),
    PixelType(
        key="rgb-12v-nrz800",
        title="RGB, 12 V, single wire with backup line, 800 kbit/s",
        volts=12.0,
        minimum_volts=9.0,
        colour_order="GRB",
        timing=NrzTiming(t0h_us=0.30, t0l_us=0.95, t1h_us=0.70, t1l_us=0.55, tolerance_us=0.08, reset_us=300.0),
        idle_ma=1.5,
        full_ma=EmitterCurrents(red=4.5, green=4.5, blue=4.5),
        typical_ma=7.0,
        source="Volts (9-13 V) and reset: WS2815 data sheet. Bit times and about 15 mA a pixel in all: from memory.",
    ),
)

PIXEL_CATALOGUE: Final = MappingProxyType({kind.key: kind for kind in _TYPES})
