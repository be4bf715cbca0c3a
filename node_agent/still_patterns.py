"""Still test patterns on one channel, by which a person at the run sees what is wrong with it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from node_agent.overlay import Linear, Slices
from schemas.ask import TestPattern

_BARS: Final = np.array(
    [
        (1, 1, 1),
        (1, 0, 0),
        (0, 1, 0),
        (0, 0, 1),
        (0, 0, 0),
        (0, 1, 1),
        (1, 0, 1),
        (1, 1, 0),
        (1, 0, 0),
        (1, 1, 1),
    ],
    dtype=np.float32,
)
"""From the data end: white, red, green, blue, dark, cyan, magenta, yellow, red, white.

Red, green, blue are read off in the order in which they should stand; what else stands there is the run's order of
colours. In the dark bar an emitter shows that cannot go out. Each pair lacks the emitter of the bar four before it, so
an emitter that is missing shows in several bars. The last white is held against the first, where volts are best, and
against the red beside it, since red light needs the least volts: a far white that turned towards red lacks volts.
"""


@dataclass(frozen=True, slots=True)
class StillPattern:
    """An overlay that paints the same all the time."""

    seconds: float
    channel: int
    pattern: TestPattern

    def paint(self, linear: Linear, slices: Slices, elapsed_s: float) -> None:  # noqa: ARG002 it stands still
        if place := slices.get(self.channel):
            linear[place] = _LIGHT[self.pattern](place.stop - place.start)


def _thirds(pixels: int) -> Linear:
    run = np.eye(3, dtype=np.float32)[np.arange(pixels) * 3 // pixels]
    run[0] = 1
    return run


def _first_pixel(pixels: int) -> Linear:
    run = np.zeros((pixels, 3), dtype=np.float32)
    run[0] = 1
    return run


def _every_tenth(pixels: int) -> Linear:
    run = np.zeros((pixels, 3), dtype=np.float32)
    run[::10] = 1
    return run


def _ramp(pixels: int) -> Linear:
    return np.repeat(np.linspace(0, 0.5, pixels, dtype=np.float32)[:, np.newaxis], 3, axis=1)


def _bars(pixels: int) -> Linear:
    return _BARS[np.arange(pixels) * len(_BARS) // pixels]


_LIGHT: Final[Mapping[TestPattern, Callable[[int], Linear]]] = {
    "thirds": _thirds,
    "first-pixel": _first_pixel,
    "every-tenth": _every_tenth,
    "ramp": _ramp,
    "bars": _bars,
}
