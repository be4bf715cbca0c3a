"""How near the work comes to volts and heights, and what to mind before it. Usual cautions, common practice."""

from collections.abc import Iterable
from enum import StrEnum
from types import MappingProxyType
from typing import Final


class Hands(StrEnum):
    """Looking from the floor, a change at the desk, a meter on live low volts, hands on what is switched off."""

    LOOK = "look"
    DESK = "desk"
    METER = "meter"
    WORK = "work"


HEIGHT: Final = (
    "Work at height is never done alone, nor with both hands full: someone foots the ladder, tools are on a line."
)
MAINS: Final = (
    "The mains side of every supply belongs to a licensed electrician under the local code: leave its covers on."
)
POWER_OFF: Final = (
    "Power off and unplugged before anything is joined, parted or changed; wait until the supplies have discharged."
)
POLARITY: Final = "Check polarity with a meter before a run or board is joined: reversed wires destroy it at once."
FUSE: Final = (
    "A fuse that blew did so for a reason: look for the short first, and never fit a larger one than the wire allows."
)
GROUND: Final = (
    "Join 0 V before any data line, and part it last: else the supply's current may return through the data pins."
)
PARALLEL: Final = "Never join the positives of two supplies: the positive rail stays cut between them."
HEAT: Final = "Supplies, wires and pixels get hot enough to burn: let them cool, and leave them air."
FLASH: Final = (
    "Faults like this flash, and flashing light can bring on seizures: black the run out while the public looks on "
    "(WCAG 2.2, 2.3.1)."
)
_METER: Final = (
    "Low volts, high current: a probe that slips from + to – arcs and burns. Meter on DC volts, one hand, no rings."
)
_STARTLES: Final = (
    "A change shows on the front as soon as it is rolled out: see first that nobody is up a ladder there."
)

_OF: Final = MappingProxyType(
    {
        Hands.LOOK: (),
        Hands.DESK: (_STARTLES,),
        Hands.METER: (_METER, MAINS, HEIGHT),
        Hands.WORK: (POWER_OFF, POLARITY, MAINS, HEIGHT),
    }
)


def cautions_of(hands: Hands, more: Iterable[str] = ()) -> tuple[str, ...]:
    """Those of the work itself, then what else belongs to this step; none twice."""
    return tuple(dict.fromkeys((*_OF[hands], *more)))
