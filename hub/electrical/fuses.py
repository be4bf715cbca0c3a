"""Standard fuse ratings, and which of them lie between a load and the wire that they protect."""

from enum import StrEnum
from types import MappingProxyType
from typing import Final

MOST_OF_FUSE: Final = 0.8
"""Part of its rating that loads a fuse for long: common practice, the inverse of the 125 % of NEC 210.20(A)."""

TRIPS_WITHIN: Final = 1.45
"""A conductor bears 1.45 times its ampacity until its protection trips (IEC 60364-4-43, 433.1, from memory)."""


class FuseKind(StrEnum):
    """Which standard a fuse is made to."""

    BLADE = "blade"
    CARTRIDGE = "cartridge"


RATINGS_A: Final = MappingProxyType(
    {
        FuseKind.BLADE: (1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0),
        FuseKind.CARTRIDGE: (0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0),
    }
)
"""Blade: ISO 8820-3. Cartridge 5 × 20 mm: IEC 60127-2. Both from memory."""

SURELY_BLOWS_AT: Final = MappingProxyType({FuseKind.BLADE: 1.35, FuseKind.CARTRIDGE: 2.1})
"""Times its rating at which a fuse must blow: ISO 8820-3 in 10 minutes, IEC 60127-2 in 30 (from memory)."""

HIGHEST_V: Final = MappingProxyType({FuseKind.BLADE: 32.0, FuseKind.CARTRIDGE: 60.0})
"""DC volts: blade fuses are made for 32 V; of cartridges the maker tells, and supplies here end at 60 V."""

SOURCE: Final = (
    "Ratings: ISO 8820-3 (blade), IEC 60127-2 (cartridge), from memory. Load at most 0.8 of the fuse: common practice, "
    "after the 125 % of NEC 210.20(A). Fuse at most the wire's ampacity, and surely blown at 1.45 times it: "
    "IEC 60364-4-43, 433.1, from memory."
)


def smallest_rating_a(load_a: float) -> float:
    """The least rating in amps that carries `load_a` for long."""
    return load_a / MOST_OF_FUSE


def largest_rating_a(ampacity_a: float, kind: FuseKind) -> float:
    """The greatest rating in amps that protects a wire of `ampacity_a`.

    Two rules: no more than the ampacity, and blown before the wire carries 1.45 times it. A cartridge may hold twice
    its rating for half an hour, so only the second binds it.
    """
    return min(ampacity_a, ampacity_a * TRIPS_WITHIN / SURELY_BLOWS_AT[kind])


def fitting_ratings_a(load_a: float, ampacity_a: float, kind: FuseKind) -> tuple[float, ...]:
    """The standard ratings between load and wire, smallest first; empty where none fits."""
    least, most = smallest_rating_a(load_a), largest_rating_a(ampacity_a, kind)
    # A hair of room for sums of floats.
    return tuple(rating for rating in RATINGS_A[kind] if least <= rating * (1 + 1e-9) and rating <= most * (1 + 1e-9))
