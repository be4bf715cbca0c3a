"""Chance that is the same on every machine: draws decided by a seed, a place and a count alone.

The finaliser of SplitMix64 (Steele, Lea, Flood 2014) over Weyl steps.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

PERIODS: Final = 16
"""After so many periods all comes again: long enough that no eye knows it, short enough to be looked at whole."""

Keys = NDArray[np.uint64]
_GOLDEN: Final = np.uint64(0x9E3779B97F4A7C15)


def keys_of(places: NDArray[np.int64], seed: int) -> Keys:
    """A key for each place; any whole numbers will do, negative ones too."""
    return _mixed(places.astype(np.uint64) * _GOLDEN ^ _mixed(np.array([seed], np.uint64)))


def draw(keys: Keys, count: int) -> NDArray[np.float64]:
    """Draw number `count` of each key, in [0, 1)."""
    drawn = _mixed(keys + _mixed(np.array([count], np.uint64)))
    return (drawn >> np.uint64(11)).astype(np.float64) * 2.0**-53


def _mixed(value: Keys) -> Keys:
    value = value + _GOLDEN
    value = (value ^ (value >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    value = (value ^ (value >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return value ^ (value >> np.uint64(31))
