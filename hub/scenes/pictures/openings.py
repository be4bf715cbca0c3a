"""Where the front is open: behind runs that stand on two feet, as around a door or an arch, there is no wall."""

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy.spatial import cKDTree

from hub.scenes.pictures.view import PictureView

_FEWEST_POINTS: Final = 8
_BREAK: Final = 4.0
"""A step so many times as long as the usual one begins another line."""
_SILL: Final = 0.15
"""Feet this near to the ground, in parts of the opening's height, are those of a door."""


def openings(view: PictureView, points_m: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which points of the canvas lie in an opening, shape (height, width)."""
    mask = Image.new("1", (view.width_px, view.height_px))
    pen = ImageDraw.Draw(mask)
    for line in _lines(points_m):
        if _stands_on_two_feet(line):
            edge = view.places(line)
            if view.ground_px is not None and view.ground_px - edge[[0, -1], 1].min() < _SILL * np.ptp(edge[:, 1]):
                edge = np.concatenate([edge, [[edge[-1, 0], view.ground_px - 1], [edge[0, 0], view.ground_px - 1]]])
            pen.polygon([(x, y) for x, y in edge.tolist()], fill=1)
    return np.asarray(mask)


def _lines(points_m: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
    """Pixels that follow one another without a gap, and any two such lines that meet at an end, as one."""
    if len(points_m) < _FEWEST_POINTS:
        return
    steps = np.hypot(*np.diff(points_m, axis=0).T)
    reach_m = _BREAK * float(np.median(steps))
    lines = np.split(points_m, np.flatnonzero(steps > reach_m) + 1)
    yield from lines
    ends = np.array([end for line in lines for end in (line[0], line[-1])])
    for one, other in sorted(cKDTree(ends).query_pairs(reach_m)):
        if one // 2 != other // 2:
            first, second = lines[one // 2], lines[other // 2]
            yield np.concatenate([first if one % 2 else first[::-1], second[::-1] if other % 2 else second])


def _stands_on_two_feet(line: NDArray[np.float64]) -> bool:
    if len(line) < _FEWEST_POINTS:
        return False
    legs = np.abs(np.array([line[len(line) // 8] - line[0], line[-1 - len(line) // 8] - line[-1]]))
    upright = bool((legs[:, 1] > 2 * legs[:, 0]).all())
    around_m = float(np.hypot(*np.diff(line, axis=0).T).sum())
    gap_m = float(np.hypot(*(line[-1] - line[0])))
    level = abs(line[-1, 1] - line[0, 1]) < 0.05 * around_m
    crown_m = float(line[:, 1].max() - max(line[0, 1], line[-1, 1]))
    sunk_m = float(min(line[0, 1], line[-1, 1]) - line[:, 1].min())
    return upright and level and sunk_m < 0.05 * around_m and gap_m > 0.08 * around_m and crown_m > 0.3 * gap_m
