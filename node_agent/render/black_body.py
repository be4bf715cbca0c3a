"""The chromaticity of a black body: the Planckian locus as a polynomial, since a board has no spectra to add up.

Fitted to CIE 1931 (2°) colour matching functions over Planck's law, as colour-science 0.4.7 integrates them, within
1e-6 in x and y from 1,000 K to 20,000 K; `tests/checks/test_colour_temperature.py` holds it to that library and to
published tables.
"""

from typing import Final

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

# Chebyshev coefficients over reciprocal megakelvin, 50 to 1,000 MK⁻¹ brought to -1..1.
_X: Final = (
    *(0.49000870, 0.20239326, -0.04172030, -0.00184401, 0.00601850, -0.00259563, 0.00039901),
    *(0.00014970, -0.00011152, 0.00003056, -0.00000259, -0.00000018, -0.00000065, 0.00000047),
)
_Y: Final = (
    *(0.35533888, 0.02832307, -0.05666726, 0.01876928, 0.00090734, -0.00343693, 0.00155360),
    *(-0.00028755, -0.00005258, 0.00005339, -0.00001830, 0.00000485, -0.00000237, 0.00000155),
)


def black_body_xy(kelvin: float) -> NDArray[np.float64]:
    """CIE 1931 x, y, shape (2,), from 1,000 K to 20,000 K."""
    place = (1e6 / kelvin - 525) / 475
    return np.array([chebyshev.chebval(place, _X), chebyshev.chebval(place, _Y)])
