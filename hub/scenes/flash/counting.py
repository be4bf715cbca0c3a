"""Counts the flashes of many places: how many fell into the last second, and how soon four came after each other."""

from collections import deque

import numpy as np
from numpy.typing import NDArray

from hub.scenes.flash.changes import Pixels
from hub.scenes.flash.thresholds import FLASHES_ALLOWED, SECOND_S


class FlashCounter:
    """`places` count each for themselves. A flash is counted at its leading edge: the change that begins it.

    An edge lies between the instant before the one at which it was seen and that one. Edges count as within a second
    only where they are so wherever they lie: a strobe of just three a second has four edges in a full second and
    passes, however the instants fall.
    """

    def __init__(self, places: int) -> None:
        self._starts_s = np.full((FLASHES_ALLOWED + 1, places), -np.inf)
        self._counts = np.zeros(places, dtype=np.int32)
        self._second: deque[tuple[float, Pixels]] = deque()

    def count(self, since_s: float | NDArray[np.float64], at_s: float, places: Pixels) -> None:
        """These places have a leading edge after `since_s` (of all, or of each), at `at_s` at the latest."""
        while self._second and self._second[0][0] <= at_s - SECOND_S:
            self._counts[self._second.popleft()[1]] -= 1
        self._second.append((float(np.min(since_s)), places))
        self._counts[places] += 1
        self._starts_s[:-1, places] = self._starts_s[1:, places]
        self._starts_s[-1, places] = since_s

    def since_first_of_four_s(self, at_s: float, places: Pixels | slice = slice(None)) -> NDArray[np.float64]:
        """How long ago, at most, the fourth last edge was: the time that one flash too many took."""
        spans_s: NDArray[np.float64] = at_s - self._starts_s[0, places]
        return spans_s

    def in_last_second(self) -> NDArray[np.int32]:
        """Edges of each place in the second up to the last count. Not to be written to."""
        return self._counts
