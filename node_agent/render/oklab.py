"""OKLab: where equal steps look equal. Its matrices are those published with it (B. Ottosson, 2020)."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

_LMS_OF_RGB: Final = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_LAB_OF_ROOTS: Final = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)
_RGB_OF_LMS: Final = np.linalg.inv(_LMS_OF_RGB)
_ROOTS_OF_LAB: Final = np.linalg.inv(_LAB_OF_ROOTS)


def oklab_of_linear(rgb: NDArray[np.floating]) -> NDArray[np.float64]:
    """L, a, b of linear sRGB, both of shape (..., 3)."""
    return _turned(_LAB_OF_ROOTS, np.cbrt(_turned(_LMS_OF_RGB, np.asarray(rgb, dtype=np.float64))))


def linear_of_oklab(lab: NDArray[np.floating]) -> NDArray[np.float64]:
    """Linear sRGB of L, a, b, both of shape (..., 3); it may lie outside 0..1."""
    return _turned(_RGB_OF_LMS, _turned(_ROOTS_OF_LAB, np.asarray(lab, dtype=np.float64)) ** 3)


def _turned(matrix: NDArray[np.float64], vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each vector by the matrix, term by term: a matrix product would round differently with the number of vectors."""
    first, second, third = vectors[..., 0], vectors[..., 1], vectors[..., 2]
    return np.stack([row[0] * first + row[1] * second + row[2] * third for row in matrix], axis=-1)
