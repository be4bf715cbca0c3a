"""What is kept over time, of whom, in which unit and how finely."""

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

import numpy as np


class SubjectKind(StrEnum):
    """Whose history it is."""

    NODE = "node"
    SUPPLY = "supply"
    VENUE = "venue"


class Quantity(StrEnum):
    """One figure. Their order is the order of columns in the database: a new one goes to the end, none is taken out."""

    AMPS = "amps"
    HIGHEST_AMPS = "highest-amps"
    LIMITER_SCALE = "limiter-scale"
    FRAME_RATE = "frame-rate"
    LATE_FRAMES = "late-frames"
    RENDER_TIME = "render-time"
    TEMPERATURE = "temperature"
    CLOCK_DISPERSION = "clock-dispersion"
    MEMORY_FREE = "memory-free"
    DISK_FREE = "disk-free"
    SIGNAL = "signal"
    HEARD = "heard"
    BUDGET = "budget"
    NODES_ONLINE = "nodes-online"


@dataclass(frozen=True, slots=True)
class Measure:
    """`step`: what values are rounded to once their hour is over, in `unit`. `kinds`: who has the quantity."""

    unit: str
    step: float
    kinds: frozenset[SubjectKind]
    about: str


_NODE: Final = frozenset({SubjectKind.NODE})
_SUPPLY: Final = frozenset({SubjectKind.SUPPLY})
_VENUE: Final = frozenset({SubjectKind.VENUE})
_DRAWN: Final = _NODE | _SUPPLY | _VENUE

MEASURES: Final = MappingProxyType(
    {
        Quantity.AMPS: Measure("A", 0.01, _DRAWN, "amps drawn, all supplies or all nodes together"),
        Quantity.HIGHEST_AMPS: Measure("A", 0.01, _DRAWN, "highest frame between two messages; of several, their sum"),
        Quantity.LIMITER_SCALE: Measure("share", 0.001, _DRAWN, "lowest budget limiter scale; 1 is not limited"),
        Quantity.FRAME_RATE: Measure("Hz", 0.1, _NODE, "frames shown a second"),
        Quantity.LATE_FRAMES: Measure("frames/s", 0.01, _NODE, "late frames a second"),
        Quantity.RENDER_TIME: Measure("ms", 0.01, _NODE, "mean time to render, limit and encode a frame"),
        Quantity.TEMPERATURE: Measure("°C", 0.1, _NODE, "temperature of the board"),
        Quantity.CLOCK_DISPERSION: Measure("ms", 0.01, _NODE, "largest likely error of show time"),
        Quantity.MEMORY_FREE: Measure("share", 0.001, _NODE, "memory that programs could still have"),
        Quantity.DISK_FREE: Measure("share", 0.001, _NODE, "free part of the disk that holds the agent's state"),
        Quantity.SIGNAL: Measure("dBm", 0.5, _NODE, "signal of a wireless link"),
        Quantity.HEARD: Measure("share", 0.001, _NODE, "share of its messages that arrived, by the minute"),
        Quantity.BUDGET: Measure("A", 0.01, _SUPPLY, "amps allowed to the supply"),
        Quantity.NODES_ONLINE: Measure("nodes", 0.1, _VENUE, "nodes online"),
    }
)
COLUMNS: Final = tuple(Quantity)
COLUMN: Final = MappingProxyType({quantity: place for place, quantity in enumerate(COLUMNS)})
STEPS: Final = np.array([MEASURES[quantity].step for quantity in COLUMNS])
STEPS.flags.writeable = False


def quantities_of(kind: SubjectKind) -> tuple[Quantity, ...]:
    """What a kind of subject has a history of."""
    return tuple(quantity for quantity in COLUMNS if kind in MEASURES[quantity].kinds)
