"""A ramp of colours: from a place between 0 and 1 to linear light, by a table made once."""

from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from node_agent.render.colour import linear_rgb
from node_agent.render.oklab import linear_of_oklab, oklab_of_linear
from schemas.colour import Mix, Stop

STEPS: Final = 4_096  # in linear light a step is then a sixteenth of an 8-bit code

Bend = Callable[[NDArray[np.float64]], NDArray[np.float64]]


class Ramp:
    """Colours between stops; beyond the outer stops their colours go on.

    `bend` puts what is looked up to its place between the stops: a function that the table has in it, free of cost.
    """

    def __init__(self, stops: Sequence[Stop], mix: Mix, bend: Bend | None = None) -> None:
        self._places = np.array([stop.at for stop in stops])
        self._mix = mix
        colours = np.array([linear_rgb(stop.colour) for stop in stops], dtype=np.float64)
        self._colours = oklab_of_linear(colours) if mix == "oklab" else colours
        places = np.linspace(0.0, 1.0, STEPS)
        self._table = self.exactly(bend(places) if bend else places)

    def exactly(self, place: NDArray[np.float64]) -> NDArray[np.float32]:
        """Linear RGB, shape (3, places), computed and not looked up: for what stands still."""
        mixed = np.stack([np.interp(place, self._places, part) for part in self._colours.T], axis=-1)
        light = np.clip(linear_of_oklab(mixed), 0.0, 1.0) if self._mix == "oklab" else mixed
        return np.ascontiguousarray(light.T, dtype=np.float32)

    def look_up(self, place: NDArray[np.float32], index: NDArray[np.intp], out: NDArray[np.float32]) -> None:
        """Linear RGB of each place into `out`, shape (3, places). `place` is overwritten; past 0 and 1 the ends go on.

        `index`, shape (places,), is a buffer too.
        """
        place *= np.float32(STEPS - 1)
        place += np.float32(0.5)
        np.copyto(index, place, casting="unsafe")
        self._table.take(index, axis=1, out=out, mode="clip")
