"""Class 2: how large a DC supply may be to count as safe from fire by its own limits (NEC chapter 9 table 11(B))."""

from dataclasses import dataclass
from typing import Final

HIGHEST_V: Final = 60.0
SOURCE: Final = "NEC chapter 9 table 11(B), DC, inherently limited, from memory"


@dataclass(frozen=True, slots=True)
class ClassTwoLimit:
    """The nameplate's upper bounds."""

    rated_w: float
    rated_a: float


def class_2_limit(volts: float) -> ClassTwoLimit | None:
    """The limit of a Class 2 supply of `volts` DC, dry places; None above 60 V, where there is none.

    Up to 20 V 5.0 × V volt-amperes and 5 A; above 20 to 60 V 100 volt-amperes and 100 / V amps. So a 5 V supply of
    100 W is not Class 2: its limit is 25 W.
    """
    if volts <= 0 or volts > HIGHEST_V:
        return None
    if volts <= 20.0:
        return ClassTwoLimit(rated_w=5.0 * volts, rated_a=5.0)
    return ClassTwoLimit(rated_w=100.0, rated_a=100.0 / volts)


def within_class_2(volts: float, rated_a: float) -> bool:
    """Whether a nameplate of `volts` and `rated_a` lies within the limit; whether it *is* Class 2 is for its label."""
    limit = class_2_limit(volts)
    return limit is not None and rated_a <= limit.rated_a
