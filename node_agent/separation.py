"""Red, green, blue to red, green, blue, white: what a white emitter can make of a colour, it makes alone. Pure."""

import numpy as np
from numpy.typing import NDArray

from node_agent.render import linear_of_kelvin
from schemas import DesiredChannel


def white_light(channel: DesiredChannel) -> NDArray[np.float32]:
    """Linear red, green, blue, shape (3,), the largest 1, of the channel's white emitter at full."""
    if channel.white_emitter_k is None:
        return np.ones(3, dtype=np.float32)
    return linear_of_kelvin(channel.white_emitter_k)


def separate_white(colour: NDArray[np.float32], light: NDArray[np.float32], white: NDArray[np.float32]) -> None:
    """Take as much `light` out of `colour`, shape (3, pixels), as all of its three hold; its level goes to `white`.

    Colour and white times `light` add up to what colour was.
    """
    if (light == 1).all():
        np.min(colour, axis=0, out=white)
        np.subtract(colour, white, out=colour)
        return
    holds = light > 0  # a warm white may have no blue to take out
    np.min(colour[holds] / light[holds, None], axis=0, out=white)
    np.subtract(colour, white * light[:, None], out=colour)
    np.maximum(colour, np.float32(0), out=colour)  # rounding may leave a last place below
