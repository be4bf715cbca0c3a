"""What a flash is judged by: relative luminance, saturated red, and chromaticity, from linear RGB light."""

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from hub.scenes.flash.thresholds import RED_SHARE, ROUNDING

Plane = NDArray[np.float32]

# Linear sRGB to CIE 1931 XYZ (IEC 61966-2-1).
_X: Final = np.array([0.4124, 0.3576, 0.1805], dtype=np.float32)
_Y: Final = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
_Z: Final = np.array([0.0193, 0.1192, 0.9505], dtype=np.float32)
_DENOMINATOR: Final = _X + 15 * _Y + 3 * _Z

WHITE_UV: Final = (float(4 * _X.sum() / _DENOMINATOR.sum()), float(9 * _Y.sum() / _DENOMINATOR.sum()))
"""u′, v′ of the white point, D65."""
RED_UV: Final = (float(4 * _X[0] / _DENOMINATOR[0]), float(9 * _Y[0] / _DENOMINATOR[0]))
"""u′, v′ of the red primary."""

DARK_BELOW: Final = 0.01
OWN_COLOUR_FROM: Final = 0.04
"""Our rule for darkness, whose u′v′ is undefined: a state with R+G+B below `DARK_BELOW` (three codes of one emitter)
counts as the white point, so that red light going on and off counts as it does against white; from `OWN_COLOUR_FROM` on
it counts as itself. In between its chromaticity goes over evenly: one code more or less is no flash."""


class Chromaticity(NamedTuple):
    """u′, v′ (CIE 1976), and whether the state is a saturated red."""

    u: Plane
    v: Plane
    red: NDArray[np.bool_]


def luminance(planes: Plane) -> Plane:
    """Relative luminance, 0..1, of linear RGB planes of shape (3, …) (WCAG 2.2; IEC 61966-2-1)."""
    return _weighted(planes, _Y)


def chromaticity(planes: Plane) -> Chromaticity:
    """Of linear RGB planes of shape (3, …)."""
    total = planes[0] + planes[1]
    total += planes[2]
    red = (planes[0] >= np.float32(RED_SHARE) * total - np.float32(ROUNDING)) & (total >= np.float32(DARK_BELOW))
    denominator = _weighted(planes, _DENOMINATOR)
    np.maximum(denominator, np.float32(1e-9), out=denominator)
    own = total  # its last use: from here on the share of its own colour that a state counts with
    own -= np.float32(DARK_BELOW)
    own /= np.float32(OWN_COLOUR_FROM - DARK_BELOW)
    np.clip(own, np.float32(0), np.float32(1), out=own)
    u, v = _weighted(planes, 4 * _X), _weighted(planes, 9 * _Y)
    for coordinate, white in zip((u, v), WHITE_UV, strict=True):
        coordinate /= denominator
        coordinate -= np.float32(white)
        coordinate *= own
        coordinate += np.float32(white)
    return Chromaticity(u, v, red)


def _weighted(planes: Plane, weights: Plane) -> Plane:
    total: Plane = planes[0] * weights[0]
    total += planes[1] * weights[1]
    total += planes[2] * weights[2]
    return total
