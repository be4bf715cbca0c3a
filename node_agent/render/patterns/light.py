"""What a pattern gives: for every pixel of its zone a colour, and how much of what lies below that colour covers."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class Light:
    """`colour` is linear RGB, shape (3, 1) for all pixels alike or (3, pixels); `cover` is 0..1, shape (pixels,).

    A cover of None is 1 everywhere. Colour planes lie one after another because numpy works along the pixels.
    """

    colour: NDArray[np.float32]
    cover: NDArray[np.float32] | None = None

    def evaluate(self, _show_time_s: float) -> "Light":
        """A still pattern is its own light at any time."""
        return self


class TimedLight(Protocol):
    """A pattern laid over one zone, prepared: what does not change with time is computed once, before."""

    def evaluate(self, show_time_s: float) -> Light:
        """The light at a show time, a pure function of it. The arrays are buffers that the next call overwrites."""
        ...
