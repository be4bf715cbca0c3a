"""Colours as people write them to linear light as pixels make it: their pulse width is proportional to light."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from node_agent.render.black_body import black_body_xy
from schemas.colour import CSS_COLOURS, Colour, LinearColour, TemperatureColour

# XYZ (2°, D65) to linear sRGB, IEC 61966-2-1.
_RGB_OF_XYZ: Final = np.array(
    [[3.2406255, -1.5372080, -0.4986286], [-0.9689307, 1.8757561, 0.0415175], [0.0557101, -0.2040211, 1.0569959]]
)


def linear_from_srgb(encoded: NDArray[np.float64]) -> NDArray[np.float64]:
    """Linear light 0..1 of sRGB values 0..1, by the transfer function of IEC 61966-2-1."""
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


def linear_of_kelvin(kelvin: float, tint_duv: float = 0.0) -> NDArray[np.float32]:
    """Linear red, green, blue, shape (3,), the largest 1, of a black body of that temperature.

    Positive `tint_duv` moves the chromaticity away from the Planckian locus towards green, by that distance in CIE 1960
    u, v. What sRGB's primaries cannot make is cut off: below about 1,900 K there is no blue.
    """
    u, v = _uv(black_body_xy(kelvin))
    if tint_duv:
        step_u, step_v = _uv(black_body_xy(kelvin * 1.001)) - np.array([u, v])
        length = float(np.hypot(step_u, step_v))
        # Along the locus u falls as it gets hotter; a quarter turn to its right is the green side.
        u, v = u + step_v / length * tint_duv, v - step_u / length * tint_duv
    denominator = 2 * u - 8 * v + 4
    x, y = 3 * u / denominator, 2 * v / denominator
    rgb = np.maximum(_RGB_OF_XYZ @ np.array([x / y, 1.0, (1 - x - y) / y]), 0.0)
    light: NDArray[np.float32] = (rgb / rgb.max()).astype(np.float32)
    return light


def linear_rgb(colour: Colour) -> NDArray[np.float32]:
    """Linear red, green, blue, shape (3,), of a colour in any of its forms."""
    match colour:
        case LinearColour():
            return np.array(colour.linear, dtype=np.float32)
        case TemperatureColour():
            return linear_of_kelvin(colour.kelvin, colour.tint_duv) * np.float32(colour.level)
        case _:
            codes = np.frombuffer(bytes.fromhex(CSS_COLOURS.get(colour, colour).removeprefix("#")), dtype=np.uint8)
            return linear_from_srgb(codes / 255.0).astype(np.float32)


def _uv(xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """CIE 1960 u, v of CIE 1931 x, y."""
    x, y = xy
    uv: NDArray[np.float64] = np.array([4 * x, 6 * y]) / (-2 * x + 12 * y + 3)
    return uv
