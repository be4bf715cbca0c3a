"""What a person at the board asks to see over the scene: identify, walk, still patterns. Each ends by itself.

None of them makes any pixel flash more than three times in a second (WCAG 2.2, success criterion 2.3.1).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

BREATH_HZ: Final = 0.4
BREATH_LOW: Final = 0.02
BREATH_HIGH: Final = 0.4
LARGEST_FLASH_HZ: Final = 3.0

Linear = NDArray[np.float32]
Slices = Mapping[int, slice]


class Overlay(Protocol):
    """Paints over a frame of linear RGB, shape (pixels, 3), in place; `elapsed_s` counts from when it was asked for."""

    @property
    def seconds(self) -> float: ...
    def paint(self, linear: Linear, slices: Slices, elapsed_s: float) -> None: ...


@dataclass(frozen=True, slots=True)
class Identify:
    """Every pixel of the board breathes in white."""

    seconds: float

    def paint(self, linear: Linear, slices: Slices, elapsed_s: float) -> None:  # noqa: ARG002 every channel
        share = 0.5 - 0.5 * math.cos(2 * math.pi * BREATH_HZ * elapsed_s)
        linear[:] = BREATH_LOW + (BREATH_HIGH - BREATH_LOW) * share


@dataclass(frozen=True, slots=True)
class Walk:
    """One white pixel goes along a channel that is otherwise dark."""

    seconds: float
    channel: int
    pixels_per_s: float

    def paint(self, linear: Linear, slices: Slices, elapsed_s: float) -> None:
        if (place := slices.get(self.channel)) is None:
            return
        run = linear[place]
        pixels = len(run)
        # On a run of a few pixels the same one comes round again soon: then walk slower.
        rate = min(self.pixels_per_s, LARGEST_FLASH_HZ * pixels)
        run[:] = 0
        run[int(elapsed_s * rate) % pixels] = 1
