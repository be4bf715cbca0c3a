"""Where a place on the elevation (metres, y up) lies on a picture (canvas points, y down), and where its ground is."""

from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import NDArray

NARROWEST_PX: Final = 160
WIDEST_PX: Final = 1_600
USUAL_PX: Final = 640

_SIDE: Final = 0.035
"""Room beside and above the front, in parts of the width."""
_LOWEST: Final = 0.2
_HIGHEST: Final = 1.0
"""Height of a picture in parts of its width: a lone run still gets a wall, a tower is drawn smaller."""
_GROUND_REACH: Final = 0.5
_PAVEMENT: Final = 0.05
"""Depth of the pavement in parts of the width."""


@dataclass(frozen=True, slots=True)
class PictureView:
    """A scale and an origin. `ground_px` is the row where the wall meets the pavement, `pavement_px` its end."""

    width_px: int
    height_px: int
    px_per_m: float
    left_px: float
    top_px: float
    x_min_m: float
    y_max_m: float
    ground_px: int | None
    pavement_px: int | None

    @classmethod
    def of(cls, points_m: NDArray[np.float64], width_px: int) -> Self:
        """The view of a front whose pixels lie at `points_m`, shape (pixels, 2). Raises ValueError for a bad width.

        The ground lies at height 0, as venues state heights, where that is not far below the front.
        """
        if not NARROWEST_PX <= width_px <= WIDEST_PX:
            raise ValueError(f"width_px: a picture is {NARROWEST_PX} to {WIDEST_PX} wide, not {width_px}")
        low, high = (points_m.min(axis=0), points_m.max(axis=0)) if len(points_m) else (np.zeros(2), np.ones(2))
        wide_m = max(float(high[0] - low[0]), 0.1)
        above = points_m[points_m[:, 1] >= 0, 1]
        grounded = len(above) > 0 and above.min() <= _GROUND_REACH * wide_m
        side_px = _SIDE * width_px
        bottom_m = min(float(low[1]), 0.0) if grounded else float(low[1])
        high_m = max(float(high[1]) - bottom_m, 1e-3)
        pavement = grounded and bottom_m >= 0
        margins_px = side_px * (1 if pavement else 2) + (_PAVEMENT * width_px if pavement else 0)
        px_per_m = min((width_px - 2 * side_px) / wide_m, (_HIGHEST * width_px - margins_px) / high_m)
        height_px = max(round(high_m * px_per_m + margins_px), round(_LOWEST * width_px))
        spare_px = height_px - high_m * px_per_m - margins_px
        top_px = side_px + (spare_px if grounded else spare_px / 2)
        ground_px = round(top_px + float(high[1]) * px_per_m) if grounded else None
        below = points_m[points_m[:, 1] < 0, 1]
        if ground_px is None:
            pavement_px = None
        elif len(below):
            # Pixels below the ground are of a room inside or under it; the pavement ends before them.
            pavement_px = ground_px + max(1, round(min(-0.6 * float(below.max()) * px_per_m, _PAVEMENT * width_px)))
        else:
            pavement_px = height_px
        return cls(
            width_px=width_px,
            height_px=height_px,
            px_per_m=px_per_m,
            left_px=(width_px - wide_m * px_per_m) / 2,
            top_px=top_px,
            x_min_m=float(low[0]),
            y_max_m=float(high[1]),
            ground_px=ground_px,
            pavement_px=pavement_px,
        )

    def places(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Canvas places of points, shape (points, 2): x to the right, y down; the centre of the first point is ½, ½."""
        return np.stack(
            [
                self.left_px + (points_m[:, 0] - self.x_min_m) * self.px_per_m,
                self.top_px + (self.y_max_m - points_m[:, 1]) * self.px_per_m,
            ],
            axis=1,
        )
