"""Patterns evaluated on a straight zone of pixels 0.1 m apart, centres at 0.05 m, 0.15 m and so on."""

import numpy as np
from numpy.typing import NDArray

from node_agent.render import PatternStatement
from node_agent.render.placement import Placement
from schemas import Extent

PITCH_M = 0.1


def straight(pixels: int) -> Placement:
    length_m = pixels * PITCH_M
    s_m: NDArray[np.float64] = (np.arange(pixels, dtype=np.float64) + 0.5) * PITCH_M
    index = np.arange(pixels)
    extent = Extent(length_m=length_m, pixels=pixels, x_min_m=0.0, x_max_m=length_m, y_min_m=2.0, y_max_m=2.0)
    return Placement(s_m.copy(), np.full(pixels, 2.0), s_m, index, index, extent)


def cover(pattern: PatternStatement, pixels: int, show_time_s: float) -> NDArray[np.float32]:
    light = pattern.light(straight(pixels)).evaluate(show_time_s)
    return np.ones(pixels, dtype=np.float32) if light.cover is None else light.cover.copy()


def colour(pattern: PatternStatement, pixels: int, show_time_s: float) -> NDArray[np.float32]:
    """Shape (pixels, 3)."""
    return np.broadcast_to(pattern.light(straight(pixels)).evaluate(show_time_s).colour, (3, pixels)).T.copy()


def grid(columns: int, rows: int, pitch_m: float = PITCH_M) -> Placement:
    """Rows of pixels from the left, the lowest first, as far apart as the pixels in them."""
    across_m = (np.arange(columns, dtype=np.float64) + 0.5) * pitch_m
    index = np.arange(columns * rows)
    extent = Extent(
        length_m=columns * rows * pitch_m,
        pixels=columns * rows,
        x_min_m=0.0,
        x_max_m=columns * pitch_m,
        y_min_m=0.0,
        y_max_m=(rows - 1) * pitch_m,
    )
    y_m: NDArray[np.float64] = np.repeat(np.arange(rows) * pitch_m, columns)
    s_m: NDArray[np.float64] = (np.arange(columns * rows, dtype=np.float64) + 0.5) * pitch_m
    return Placement(np.tile(across_m, rows), y_m, s_m, index, index, extent)
