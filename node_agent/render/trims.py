"""Gains on a finished frame: the trims of its stretches, and the venue's master level."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from node_agent.render.placement import PlacementError
from schemas import DesiredBody


def gains_of(body: DesiredBody, slices: Mapping[int, slice]) -> NDArray[np.float32] | None:
    """Linear gains of every pixel, shape (3, pixels); None where all are 1.

    Raises PlacementError for a trim that reaches past its run.
    """
    if body.master_level == 1 and not any(channel.trims for channel in body.channels):
        return None
    gains = np.full((3, sum(channel.pixels for channel in body.channels)), body.master_level, dtype=np.float64)
    for channel in body.channels:
        of_channel = gains[:, slices[channel.number]]
        for number, trim in enumerate(channel.trims):
            end = trim.first + trim.pixels
            if end > channel.pixels:
                raise PlacementError(
                    f"channels.{channel.number}.trims.{number}",
                    f"pixels {trim.first} to {end - 1} reach past the run of {channel.pixels} pixels",
                    "shorten the trim or correct the run's pixels",
                )
            of_channel[:, trim.first : end] *= np.array([[trim.red], [trim.green], [trim.blue]])
    return gains.astype(np.float32)
