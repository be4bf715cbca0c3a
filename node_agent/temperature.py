"""How hot the board is, as the kernel tells it."""

from pathlib import Path
from typing import Final

THERMAL: Final = Path("/sys/class/thermal")


def board_temperature_c(thermal: Path = THERMAL) -> float | None:
    """The hottest thermal zone, °C (the kernel gives thousandths); None on a board without any."""
    readings = []
    for zone in thermal.glob("thermal_zone*/temp"):
        try:
            readings.append(int(zone.read_text()) / 1_000)
        except (OSError, ValueError):
            continue
    return max((reading for reading in readings if -100 <= reading <= 300), default=None)
