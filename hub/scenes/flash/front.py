"""The front as an eye sees it: the area that each pixel stands for, and the fields of 10° that areas are summed in."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csc_array, csr_array
from scipy.spatial import cKDTree

from hub.scenes.flash.thresholds import AREA_SR, FIELD_RADIUS_RAD

Points = NDArray[np.float64]
Pixels = NDArray[np.intp]

POINTS_A_REACH: Final = 12
CENTRES_A_RADIUS: Final = 4
"""Fields are laid a quarter of their radius apart, so one of them lies within 0.18 radii of any other placing.
A flashing area of the size that decides, a quarter of a field, is found whole unless it hugs the field's rim."""
MOST_POINTS: Final = 300_000
FEW: Final = 16
"""Fewer than one pixel in this many are looked up singly, which is then quicker than going over all fields."""


@dataclass(frozen=True, slots=True, eq=False)
class Front:
    """`pixel_sr`: solid angle that each pixel stands for, shape (pixels,). `fields`: the same by field, shape (fields,
    pixels), 0 where a pixel lies outside of it; only fields in which more than AREA_SR can flash. `centres_m`: their
    centres on the elevation, shape (fields, 2).
    """

    distance_m: float
    reach_m: float
    pixel_sr: NDArray[np.float64]
    fields: csr_array
    centres_m: Points
    _of_pixel: csc_array

    def flashing_sr(self, flashing: NDArray[np.bool_], most_sr: float = AREA_SR) -> NDArray[np.float64] | None:
        """Solid angle of the flashing pixels by field; None where all together are no more than `most_sr`."""
        if not len(self.centres_m) or float(self.pixel_sr @ flashing) <= most_sr:
            return None
        areas: NDArray[np.float64] = self.fields @ flashing.astype(np.float64)
        return areas

    def by_field_sr(self, pixels: Pixels) -> NDArray[np.float64]:
        """Solid angle of these pixels, each named once, by field."""
        if len(pixels) > len(self.pixel_sr) // FEW:
            named = np.zeros(len(self.pixel_sr))
            named[pixels] = 1
            areas: NDArray[np.float64] = self.fields @ named
            return areas
        first = self._of_pixel.indptr[pixels]
        lengths = self._of_pixel.indptr[pixels + 1] - first
        entries = np.arange(lengths.sum()) + np.repeat(first - np.cumsum(lengths) + lengths, lengths)
        weights = self._of_pixel.data[entries]
        return np.bincount(self._of_pixel.indices[entries], weights, len(self.centres_m)).astype(np.float64, copy=False)

    def pixels_of(self, field: int) -> Pixels:
        """Indices of the pixels that lie in a field."""
        first, last = self.fields.indptr[field : field + 2]
        return self.fields.indices[first:last].astype(np.intp)


def front_of(points_m: Points, distance_m: float, reach_m: float) -> Front:
    """The front of pixels at `points_m`, shape (pixels, 2), seen squarely from `distance_m`.

    A pixel stands for the part of the front that is nearer to it than to any other, up to `reach_m` from it. Areas are
    small enough for solid angle = area / distance².
    """
    area_m2 = _nearest_area_m2(points_m, reach_m)
    pixel_sr = area_m2 / distance_m**2
    radius_m = distance_m * math.tan(FIELD_RADIUS_RAD)
    centres_m, _ = _grid_near(points_m, radius_m, radius_m / CENTRES_A_RADIUS)
    fields = _fields(points_m, pixel_sr, centres_m, radius_m)
    telling = np.flatnonzero(np.asarray(fields.sum(axis=1)).ravel() > AREA_SR)
    fields = fields[telling]
    return Front(distance_m, reach_m, pixel_sr, fields, centres_m[telling], fields.tocsc())


def _nearest_area_m2(points_m: Points, reach_m: float) -> NDArray[np.float64]:
    cells_m, cell_m = _grid_near(points_m, reach_m, reach_m / POINTS_A_REACH)
    # Anywhere in each cell: on a plain grid, evenly spaced pixels would fall into step with it.
    cells_m += np.random.default_rng(0).uniform(-0.5, 0.5, cells_m.shape) * cell_m
    _, nearest = cKDTree(points_m).query(cells_m, distance_upper_bound=reach_m)
    counts = np.bincount(nearest, minlength=len(points_m) + 1)[: len(points_m)]
    return (counts * cell_m**2).astype(np.float64)


def _fields(points_m: Points, pixel_sr: NDArray[np.float64], centres_m: Points, radius_m: float) -> csr_array:
    pairs = cKDTree(centres_m).sparse_distance_matrix(cKDTree(points_m), radius_m, output_type="ndarray")
    shape = (len(centres_m), len(points_m))
    return csr_array((pixel_sr[pairs["j"]], (pairs["i"], pairs["j"])), shape=shape)


def _grid_near(points_m: Points, within_m: float, spacing_m: float) -> tuple[Points, float]:
    """Centres of the cells of a square grid that lie about `within_m` from a point, and the spacing, which is coarser
    than the one asked for where there would be more than MOST_POINTS."""
    while True:
        steps = math.ceil(within_m / spacing_m) + 1
        step = np.arange(-steps, steps + 1)
        right, up = (axis.ravel() for axis in np.meshgrid(step, step))
        near = np.hypot(right, up) <= within_m / spacing_m + 1
        taken = _distinct(np.floor(points_m / spacing_m).astype(np.int64))
        most = len(taken) * int(np.count_nonzero(near))
        if most <= 8 * MOST_POINTS:
            around = np.stack((right[near], up[near]), axis=1)
            cells = _distinct((taken[:, None] + around).reshape(-1, 2))
            most = len(cells)
            if most <= MOST_POINTS:
                return ((cells + 0.5) * spacing_m).astype(np.float64), spacing_m
        spacing_m *= max(1.1, min(math.sqrt(most / MOST_POINTS), 1.5))


def _distinct(cells: NDArray[np.int64]) -> NDArray[np.int64]:
    packed = np.sort((cells[:, 0] << 32) + cells[:, 1])
    packed = packed[np.flatnonzero(np.diff(packed, prepend=packed[:1] - 1))]
    up = (packed & 0xFFFFFFFF).astype(np.uint32).astype(np.int32).astype(np.int64)
    return np.stack(((packed - up) >> 32, up), axis=1)
