"""What a network is made of. Amps, volts and ohms; resistances are of the loop, both conductors together."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Source:
    """A supply, isolated from every other; its place in the list is its number."""

    volts: float
    output_ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class FeedWire:
    """Two like conductors from a supply to a pixel, at their working temperature. `loop_ohm` is above 0."""

    source: int
    pixel: int
    loop_ohm: float


@dataclass(frozen=True, slots=True, eq=False)
class Ladder:
    """A run: two like rails with a load between them at every pixel.

    load_a: (pixels,) constant currents, amps. step_ohm: loop ohms between neighbouring pixels, above 0.
    cuts: pixels just before which the positive rail is cut, in order; the negative rail goes on.
    minimum_v: lowest working volts of its pixels. current_falls: below them the data sheet lets the current fall.
    """

    load_a: NDArray[np.float64]
    step_ohm: float
    feeds: tuple[FeedWire, ...]
    cuts: tuple[int, ...] = ()
    minimum_v: float = 0.0
    current_falls: bool = False
