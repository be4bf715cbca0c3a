"""Volts of a network by one dense matrix: the baseline of the audit's bench.

Both rails as one loop, each supply's terminals a node of its own. Right where no negative rail closes a loop past a
cut; every supply needs output resistance.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hub.electrical.network import Ladder, Source


def dense_volts(sources: Sequence[Source], ladders: Sequence[Ladder]) -> NDArray[np.float64]:
    """(pixels,) of all ladders, one after another."""
    pixels = sum(ladder.load_a.size for ladder in ladders)
    matrix = np.zeros((pixels + len(sources), pixels + len(sources)))
    right = np.zeros(pixels + len(sources))
    for number, source in enumerate(sources):
        matrix[pixels + number, pixels + number] += 1 / source.output_ohm
        right[pixels + number] += source.volts / source.output_ohm
    first = 0
    for ladder in ladders:
        own = np.arange(first, first + ladder.load_a.size)
        right[own] -= ladder.load_a
        steps = np.delete(own[:-1], [cut - 1 for cut in ladder.cuts])
        _join(matrix, steps, steps + 1, np.full(steps.size, 1 / ladder.step_ohm))
        for feed in ladder.feeds:
            at, terminal = np.array([first + feed.pixel]), np.array([pixels + feed.source])
            _join(matrix, at, terminal, np.array([1 / feed.loop_ohm]))
        first += ladder.load_a.size
    return np.linalg.solve(matrix, right)[:pixels].astype(np.float64)


def _join(
    matrix: NDArray[np.float64], one: NDArray[np.intp], other: NDArray[np.intp], siemens: NDArray[np.float64]
) -> None:
    np.add.at(matrix, (one, one), siemens)
    np.add.at(matrix, (other, other), siemens)
    np.add.at(matrix, (one, other), -siemens)
    np.add.at(matrix, (other, one), -siemens)
