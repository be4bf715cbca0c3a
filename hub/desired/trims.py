"""Trims and white points of zones as gains of stretches of each run."""

from collections.abc import Mapping
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.desired.flatten import FlatZone
from node_agent.render import linear_of_kelvin
from schemas import Trim, Venue, Zone

_DECIMALS: Final = 6
"""Of a gain: far below what 8 bits and dithering show, and short in a document."""


def trims_by_channel(venue: Venue, zones: Mapping[str, FlatZone]) -> dict[tuple[str, int], tuple[Trim, ...]]:
    """By (node, channel), the stretches whose gains are not all 1, in order; channels without any are left out.

    `zones` are the venue's, flattened. A pixel's gain is the product over every zone that holds it.
    """
    pixels = {(node.id, channel.number): channel.run.pixels for node in venue.nodes for channel in node.channels}
    gains: dict[tuple[str, int], NDArray[np.float64]] = {}
    for zone in venue.zones:
        if zone.trim == 1 and zone.white_point_k is None:
            continue
        of_zone = zone_gains(zone)
        for node_id, spans in zones[zone.id].spans_by_node.items():
            for span in spans:
                place = node_id, span.channel
                of_run = gains.setdefault(place, np.ones((pixels[place], 3)))
                of_run[span.first : span.first + span.pixels] *= of_zone
    return {place: trims for place, of_run in gains.items() if (trims := _stretches(of_run.round(_DECIMALS)))}


def zone_gains(zone: Zone) -> NDArray[np.float64]:
    """Linear gains of red, green and blue, shape (3,): none above 1, so that a white point cannot add to the draw."""
    white = np.ones(3) if zone.white_point_k is None else linear_of_kelvin(zone.white_point_k).astype(np.float64)
    return white * zone.trim


def _stretches(gains: NDArray[np.float64]) -> tuple[Trim, ...]:
    changes = np.flatnonzero((gains[1:] != gains[:-1]).any(axis=1)) + 1
    return tuple(
        Trim.model_construct(first=first, pixels=end - first, **dict(zip(("red", "green", "blue"), of, strict=True)))
        for first, end in pairwise([0, *changes.tolist(), len(gains)])
        if (of := gains[first].tolist()) != [1.0, 1.0, 1.0]
    )
