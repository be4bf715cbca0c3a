"""A front at night, drawn for one instant after another."""

import numpy as np
from numpy.typing import NDArray

from hub.scenes.lights import srgb_codes
from hub.scenes.pictures.lamplight import LampLight
from hub.scenes.pictures.masonry import masonry_of
from hub.scenes.pictures.view import PictureView


class NightFront:
    """The drawing of a front `width_px` wide; its height follows from the elevation.

    Made once, it draws any number of instants, each in a few milliseconds. Raises ValueError for a width that no
    picture may have.
    """

    def __init__(self, points_m: NDArray[np.float64], width_px: int) -> None:
        self.view = PictureView.of(points_m, width_px)
        self._lamps = LampLight(self.view, masonry_of(self.view, points_m), points_m)

    def draw(self, light: NDArray[np.float32]) -> NDArray[np.uint8]:
        """sRGB, shape (height, width, 3), for linear light 0..1, (pixels, 3), in the elevation's order."""
        return srgb_codes(self._lamps.canvas(light))
