"""The front without its lamps: a wall at night, its outline read from its highest pixels, sky behind, pavement before.

All in linear light: `still` is what shows without any lamp, `albedo` how much of the lamps' light a point gives back.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.scenes.pictures.openings import openings
from hub.scenes.pictures.view import PictureView

_COPING_M: Final = 0.55
"""The wall rises this far above its highest pixels and stands out as far at its ends."""
_SMALLEST_FRONT_M: Final = 8.0
"""What is narrower hangs on a wall that goes on beyond the picture."""
_COURSES_M: Final = (0.075, 0.25, 0.5)
_SMALLEST_COURSE_PX: Final = 6.0
_SEED: Final = 1877

_WALL: Final = (0.0098, 0.0090, 0.0083)
_INSIDE: Final = (0.0040, 0.0038, 0.0042)
_GLASS: Final = (0.0030, 0.0032, 0.0042)
_PAVEMENT: Final = (0.0052, 0.0052, 0.0058)
_SKY_TOP: Final = (0.0012, 0.0016, 0.0036)
_SKY_FOOT: Final = (0.0042, 0.0048, 0.0085)


@dataclass(frozen=True, slots=True, eq=False)
class Masonry:
    """`still`: shape (height, width, 3); `albedo`: (height, width)."""

    still: NDArray[np.float32]
    albedo: NDArray[np.float32]


def masonry_of(view: PictureView, points_m: NDArray[np.float64]) -> Masonry:
    """The still picture of a front whose pixels lie at `points_m`, shape (pixels, 2)."""
    height, width = view.height_px, view.width_px
    rows = np.arange(height, dtype=np.float64)[:, None]
    foot = view.ground_px if view.ground_px is not None else height
    share = np.clip(rows / max(foot, 1), 0, 1)[:, :, None]
    still = np.broadcast_to(np.array(_SKY_TOP) * (1 - share) + np.array(_SKY_FOOT) * share, (height, width, 3)).copy()
    albedo = np.full((height, width), 0.10)
    stone = _stone(view)
    wall = np.ones((height, width), dtype=bool)
    if view.ground_px is not None and view.pavement_px is not None:
        wall = (rows >= _outline(view, points_m)[None, :]) & (rows < foot)
        inside = np.broadcast_to(rows >= view.pavement_px, wall.shape)
        pavement = np.broadcast_to((rows >= foot) & (rows < view.pavement_px), wall.shape)
        still[pavement], albedo[pavement] = _PAVEMENT, 0.8
        still[inside], albedo[inside] = _INSIDE, 0.7
    still[wall] = np.array(_WALL) * stone[wall][:, None]
    albedo[wall] = stone[wall]
    opened = openings(view, points_m)
    still[opened], albedo[opened] = _GLASS, 0.16
    if view.ground_px is not None and foot < height:
        still[foot] *= 0.35
    return Masonry(still.astype(np.float32), albedo.astype(np.float32))


def _outline(view: PictureView, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """The row at which the wall begins in each column; below the canvas where there is none."""
    if np.ptp(points_m[:, 0]) < _SMALLEST_FRONT_M:
        return np.zeros(view.width_px)
    coping_px = max(_COPING_M * view.px_per_m, 4.0)
    places = view.places(points_m[points_m[:, 1] >= 0])
    top = np.full(view.width_px, np.inf)
    first = np.clip(np.floor(places[:, 0] - coping_px), 0, view.width_px - 1).astype(np.intp)
    last = np.clip(np.ceil(places[:, 0] + coping_px), 0, view.width_px - 1).astype(np.intp)
    # One pass for each column that a coping is wide, over all pixels at once.
    for step in range(int((last - first).max(initial=0)) + 1):
        np.minimum.at(top, np.minimum(first + step, last), places[:, 1] - coping_px)
    known = np.flatnonzero(np.isfinite(top))
    columns = np.arange(view.width_px)
    reached = (columns >= known[0]) & (columns <= known[-1])
    # Where no pixel hangs the wall goes on between those that do.
    return np.where(reached, np.interp(columns, known, top[known]), np.inf)


def _stone(view: PictureView) -> NDArray[np.float64]:
    """How bright the wall is at each point, about 1: the smallest courses that can be told apart."""
    courses_px = [course_m * view.px_per_m for course_m in _COURSES_M]
    course_px = next((course for course in courses_px if course >= _SMALLEST_COURSE_PX), _SMALLEST_COURSE_PX)
    block_px = course_px * 2.4
    foot = view.ground_px if view.ground_px is not None else view.height_px
    up = foot - 0.5 - np.arange(view.height_px)
    course = np.floor(up / course_px).astype(np.int64)
    across = (np.arange(view.width_px) + 0.5)[None, :] / block_px + 0.5 * (course % 2)[:, None]
    block = np.floor(across).astype(np.int64)
    shades = np.random.default_rng(_SEED).uniform(0.86, 1.06, size=(64, 64))
    stone: NDArray[np.float64] = shades[course[:, None] % 64, block % 64]
    joints = ((up % course_px) < 1.0)[:, None] | ((across % 1.0) * block_px < 1.0)
    return np.where(joints, stone * 0.72, stone)
