"""How near the work comes to volts and heights, and what to mind before it. Usual cautions, common practice."""

from collections.abc import Iterable
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from hub.cautions import HEIGHT, MAINS, METER, POLARITY, POWER_OFF


class Hands(StrEnum):
    """Looking from the floor, a change at the desk, a meter on live low volts, hands on what is switched off."""

    LOOK = "look"
    DESK = "desk"
    METER = "meter"
    WORK = "work"


FLASH: Final = (
    "Faults like this flash, and flashing light can bring on seizures: black the run out while the public looks on "
    "(WCAG 2.2, 2.3.1)."
)
_STARTLES: Final = (
    "A change shows on the front as soon as it is rolled out: see first that nobody is up a ladder there."
)

_OF: Final = MappingProxyType(
    {
        Hands.LOOK: (),
        Hands.DESK: (_STARTLES,),
        Hands.METER: (METER, MAINS, HEIGHT),
        Hands.WORK: (POWER_OFF, POLARITY, MAINS, HEIGHT),
    }
)


def cautions_of(hands: Hands, more: Iterable[str] = ()) -> tuple[str, ...]:
    """Those of the work itself, then what else belongs to this step; none twice."""
    return tuple(dict.fromkeys((*_OF[hands], *more)))
