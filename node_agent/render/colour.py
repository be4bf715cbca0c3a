"""sRGB as people write it to linear light as pixels make it: their pulse width is proportional to light."""

import numpy as np
from numpy.typing import NDArray


def linear_from_srgb(encoded: NDArray[np.float64]) -> NDArray[np.float64]:
    """Linear light 0..1 of sRGB values 0..1, by the transfer function of IEC 61966-2-1."""
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


def linear_rgb(hex_colour: str) -> NDArray[np.float32]:
    """Linear red, green, blue, shape (3,), of a colour written #rrggbb."""
    codes = np.frombuffer(bytes.fromhex(hex_colour.removeprefix("#")), dtype=np.uint8)
    return linear_from_srgb(codes / 255.0).astype(np.float32)
