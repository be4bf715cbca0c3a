"""The instants at which a scene is looked at: unevenly spaced, so that no strobe can hide between them."""

from collections.abc import Iterator
from typing import Final

FINEST_INTERVAL_S: Final = 0.010
"""A hundred a second, about what boards send. The longest interval is then 14 ms, and two of them, which is what the
time between two changes is uncertain by, are less than the 32 ms by which four flashes of 3.1 Hz fall short of a
second: 3.0 Hz passes and 3.1 Hz fails wherever the instants lie."""
LONGEST_INTERVAL_S: Final = 0.020
"""Fifty a second, from two minutes on: where a scene is long, many seconds show the same flashes, met by the instants
in as many ways, and one that shows four within a second decides."""
MOST_FINE_INSTANTS: Final = 6_000
UNEVENNESS: Final = 0.4
_GOLDEN: Final = 0.6180339887498949


def interval_for(length_s: float) -> float:
    """Mean interval, seconds, for looking at `length_s`."""
    return min(max(length_s / MOST_FINE_INSTANTS, FINEST_INTERVAL_S), LONGEST_INTERVAL_S)


def instants(until_s: float, interval_s: float) -> Iterator[float]:
    """Show times from 0 to the first at or after `until_s`.

    Intervals vary by `UNEVENNESS` about their mean, by multiples of the golden ratio: a strobe of any rate, also one of
    just the mean rate, is met now lit and now dark, and so seen to flash.
    """
    at_s, number = 0.0, 0
    while True:
        yield at_s
        if at_s >= until_s:
            return
        number += 1
        at_s += interval_s * (1 + UNEVENNESS * (2 * (number * _GOLDEN % 1.0) - 1))
