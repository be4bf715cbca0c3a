"""From the light of each pixel to the light on the canvas: a linear map, worked out once for a front and a width.

Each lamp is a soft dot, the mean of its neighbours where several share a point, so that a run's colour is shown as it
is. Around it lies its glow on the wall: gathered in coarse cells, then softened and stretched by Gaussian kernels,
across and down. On the pavement the same glow lies mirrored.

All matrices are sparse, for the kernels are narrow; and a product of dense ones is shared out over threads that wait
for one another, which takes ten times as long where another process has the second processor.
"""

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.spatial import cKDTree

from hub.scenes.pictures.masonry import Masonry
from hub.scenes.pictures.view import PictureView

_SMALLEST_PX: Final = 0.85
_LARGEST_PX: Final = 3.6
_UNLIT: Final = 0.02
"""Linear light of a lamp that is off: its place is seen all the same."""


@dataclass(frozen=True, slots=True)
class _Softness:
    """A glow: its Gaussian's σ in parts of the canvas's width, its brightest on the wall under full white."""

    sigma: float
    brightest: float


_GLOWS: Final = (_Softness(0.008, 0.30), _Softness(0.040, 0.11))
_CELL: Final = 0.6
"""A cell's edge in parts of σ: finer ones are not seen."""
_FARTHEST: Final = 3.5
"""In parts of σ."""
_REFLECTED: Final = 0.55


class LampLight:
    """The map of one front onto one canvas. `add` may be called for any light; it keeps nothing of it."""

    def __init__(self, view: PictureView, masonry: Masonry, points_m: NDArray[np.float64]) -> None:
        places = view.places(points_m)
        self._dots, self._dot_rows, self._dot_columns, cover = _dots(view, places, _radius_px(places))
        self._glows = [_Glow(view, places, softness) for softness in _GLOWS]
        # A lamp hides the wall behind it, lit or not.
        hidden = np.minimum(cover, np.float32(1))
        albedo = masonry.albedo.copy()
        albedo[self._dot_rows, self._dot_columns] *= 1 - np.float32(0.8) * hidden
        self._albedo = albedo[:, :, None]
        self.still = masonry.still.copy()
        self.still[self._dot_rows, self._dot_columns] *= (1 - hidden)[:, None]
        self.still[self._dot_rows, self._dot_columns] += (np.float32(_UNLIT) * hidden)[:, None]

    def canvas(self, light: NDArray[np.float32]) -> NDArray[np.float32]:
        """Linear light 0..1 of the canvas, a new array (height, width, 3), for that of the pixels, (pixels, 3)."""
        canvas = self._glows[0].on_canvas(light)
        for glow in self._glows[1:]:
            canvas += glow.on_canvas(light)
        canvas *= self._albedo
        canvas += self.still
        canvas[self._dot_rows, self._dot_columns] += self._dots @ light
        np.minimum(canvas, np.float32(1), out=canvas)
        return canvas


class _Glow:
    """One softness: cells from lamps, then rows and columns of the canvas from cells."""

    def __init__(self, view: PictureView, places: NDArray[np.float64], softness: _Softness) -> None:
        sigma_px = softness.sigma * view.width_px
        cell_px = max(round(_CELL * sigma_px), 1)
        high, wide = (-(-edge // cell_px) for edge in (view.height_px, view.width_px))
        self._shape = (view.height_px, view.width_px, high, wide)
        cells = _cells(places / cell_px - 0.5, high, wide)
        down = _kernel(view.height_px, high, cell_px, sigma_px)
        across = _kernel(view.width_px, wide, cell_px, sigma_px)
        # Each lamp as strong as leaves the whole, all lamps at full white, nowhere brighter than `brightest`.
        white = down @ np.asarray(cells.sum(axis=1)).reshape(wide, high).T @ across.T
        at = np.clip(places, 0, [view.width_px - 1, view.height_px - 1]).astype(np.intp)
        strength = softness.brightest / np.maximum(white[at[:, 1], at[:, 0]], 1e-9)
        cells.data *= strength[cells.indices]
        self._cells = cells.astype(np.float32)
        if view.ground_px is not None and view.pavement_px is not None:
            down = _with_reflection(down, view.ground_px, view.pavement_px)
        self._down = sparse.csr_array(down.astype(np.float32))
        self._across = sparse.csr_array(across.astype(np.float32))

    def on_canvas(self, light: NDArray[np.float32]) -> NDArray[np.float32]:
        """Shape (height, width, 3), a new array."""
        height, width, high, wide = self._shape
        columns = self._across @ (self._cells @ light).reshape(wide, high * 3)
        rows = columns.reshape(width, high, 3).transpose(1, 0, 2).reshape(high, width * 3)
        canvas: NDArray[np.float32] = (self._down @ rows).reshape(height, width, 3)
        return canvas


def _radius_px(places: NDArray[np.float64]) -> float:
    """Nearly half of the usual distance between neighbours, so that lamps stay apart where there is room."""
    if len(places) < 2:
        return _LARGEST_PX
    nearest = np.asarray(cKDTree(places).query(places, k=2)[0])[:, 1]
    return float(np.clip(0.42 * np.median(nearest), _SMALLEST_PX, _LARGEST_PX))


def _dots(
    view: PictureView, places: NDArray[np.float64], radius_px: float
) -> tuple[sparse.csr_array, NDArray[np.intp], NDArray[np.intp], NDArray[np.float32]]:
    """Weights of lamps on the points that any lamp covers (points x lamps), the points' rows and columns, and how
    far each is covered, which may be more than 1; weights of a point add up to 1 at most."""
    reach = int(np.ceil(2 * radius_px))
    steps = range(-reach, reach + 1)
    base = np.floor(places).astype(np.int64)
    points, lamps, weights = [], [], []
    for dx, dy in itertools.product(steps, steps):
        column, row = base[:, 0] + dx, base[:, 1] + dy
        away = np.hypot(column + 0.5 - places[:, 0], row + 0.5 - places[:, 1]) / radius_px
        weight = np.where(away < 2.0, np.exp(-(away**4) / 1.5), 0.0)
        seen = (weight > 0.01) & (column >= 0) & (column < view.width_px) & (row >= 0) & (row < view.height_px)
        points.append((row * view.width_px + column)[seen])
        lamps.append(np.flatnonzero(seen))
        weights.append(weight[seen])
    covered, place = np.unique(np.concatenate(points), return_inverse=True)
    shape = (len(covered), len(places))
    weight = np.concatenate(weights)
    cover = np.bincount(place, weight, minlength=len(covered))
    weight /= np.maximum(cover, 1)[place]
    dots = sparse.coo_array((weight, (place, np.concatenate(lamps))), shape=shape, dtype=np.float32).tocsr()
    return dots, covered // view.width_px, covered % view.width_px, cover.astype(np.float32)


def _cells(places: NDArray[np.float64], high: int, wide: int) -> sparse.csr_array:
    """Each lamp shared out over the four cells around it: (cells x lamps), the cells column after column."""
    low = np.floor(places).astype(np.int64)
    part = places - low
    lamps = np.arange(len(places))
    cells, weights = [], []
    for dx, dy in itertools.product((0, 1), (0, 1)):
        column, row = np.clip(low[:, 0] + dx, 0, wide - 1), np.clip(low[:, 1] + dy, 0, high - 1)
        cells.append(column * high + row)
        weights.append(np.abs(1 - dx - part[:, 0]) * np.abs(1 - dy - part[:, 1]))
    places_of_weights = (np.concatenate(cells), np.tile(lamps, 4))
    return sparse.coo_array((np.concatenate(weights), places_of_weights), shape=(high * wide, len(places))).tocsr()


def _kernel(points: int, cells: int, cell_px: int, sigma_px: float) -> NDArray[np.float64]:
    """What each of a row of points gets of each cell, a Gaussian of their distance: (points, cells)."""
    away_px = (np.arange(points)[:, None] + 0.5) - (np.arange(cells)[None, :] + 0.5) * cell_px
    return np.where(np.abs(away_px) <= _FARTHEST * sigma_px, np.exp(-((away_px / sigma_px) ** 2) / 2), 0.0)


def _with_reflection(down: NDArray[np.float64], ground: int, pavement: int) -> NDArray[np.float64]:
    """The rows of the pavement get the light of the wall's rows above, mirrored, drawn together and fading out."""
    reflected = down.copy()
    for row in range(ground, min(pavement, len(down))):
        share = (row - ground) / max(pavement - ground, 1)
        mirrored = max(round(ground - 1 - share * ground * 0.7), 0)
        reflected[row] = 0.35 * down[row] + _REFLECTED * (1 - 0.75 * share) * down[mirrored]
    reflected[pavement:] *= np.linspace(0.0, 1.0, max(len(down) - pavement, 1))[:, None] ** 0.25
    return reflected
