"""Where a node's pixels are: their places in the frame, and in every zone that they belong to."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from schemas import DesiredBody, DesiredZone, Extent, PlacedSpan

Along = Literal["s", "x", "y"]


class PlacementError(ValueError):
    """Wiring or zones that do not fit together. `field` is a path in the desired body."""

    def __init__(self, field: str, reason: str, remedy: str) -> None:
        super().__init__(f"{field}: {reason}; {remedy}")
        self.field, self.reason, self.remedy = field, reason, remedy


@dataclass(frozen=True, eq=False)
class Placement:
    """A node's pixels of one zone, in the order of the frame; every array has the shape (pixels,).

    `s_m` is metres along the zone, `x_m` and `y_m` are metres on the elevation, `index` counts the zone's pixels,
    `frame_index` the frame's. `extent` is of the whole zone, beyond this node.
    """

    x_m: NDArray[np.float64]
    y_m: NDArray[np.float64]
    s_m: NDArray[np.float64]
    index: NDArray[np.int64]
    frame_index: NDArray[np.intp]
    extent: Extent

    def along_m(self, along: Along) -> NDArray[np.float64]:
        """Metres from the zone's own beginning along the chosen coordinate."""
        if along == "s":
            return self.s_m
        return self.x_m - self.extent.x_min_m if along == "x" else self.y_m - self.extent.y_min_m

    def length_m(self, along: Along) -> float:
        """Length of the whole zone along the chosen coordinate, metres."""
        if along == "s":
            return self.extent.length_m
        extent = self.extent
        return extent.x_max_m - extent.x_min_m if along == "x" else extent.y_max_m - extent.y_min_m


def channel_slices(body: DesiredBody) -> Mapping[int, slice]:
    """Each channel's pixels in the frame: channels follow one another in order of their numbers."""
    slices: dict[int, slice] = {}
    start = 0
    for channel in sorted(body.channels, key=lambda channel: channel.number):
        if channel.number in slices:
            raise PlacementError("channels", f"channel {channel.number} appears twice", "give each run its own channel")
        slices[channel.number] = slice(start, start + channel.pixels)
        start += channel.pixels
    return MappingProxyType(slices)


def place_zone(zone: DesiredZone, slices: Mapping[int, slice]) -> Placement:
    """Positions of a node's part of a zone. Raises PlacementError for a span that is not on one of its channels."""
    parts = [_place_span(zone, number, span, slices) for number, span in enumerate(zone.spans)]
    x_m, y_m, s_m, index, frame_index = (np.concatenate(arrays) for arrays in zip(*parts, strict=True))
    order = np.argsort(frame_index, kind="stable")
    return Placement(x_m[order], y_m[order], s_m[order], index[order], frame_index[order].astype(np.intp), zone.extent)


def _place_span(
    zone: DesiredZone, number: int, span: PlacedSpan, slices: Mapping[int, slice]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    field = f"zones.{zone.id}.spans.{number}"
    pixels_of_channel = slices.get(span.channel)
    if pixels_of_channel is None:
        raise PlacementError(field, f"there is no channel {span.channel}", "wire the channel or drop the span")
    first = pixels_of_channel.start + span.first
    if first + span.pixels > pixels_of_channel.stop:
        run = pixels_of_channel.stop - pixels_of_channel.start
        raise PlacementError(
            field,
            f"pixels {span.first} to {span.first + span.pixels - 1} reach past the run of {run} pixels",
            "shorten the span or correct the run's pixels",
        )
    path = np.asarray(span.path, dtype=np.float64)
    corner_m = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))))
    arc_m = (np.arange(span.pixels) + 0.5) / span.pixels * corner_m[-1]
    steps = np.arange(span.pixels, dtype=np.int64)
    return (
        np.interp(arc_m, corner_m, path[:, 0]),
        np.interp(arc_m, corner_m, path[:, 1]),
        span.start_m + arc_m,
        span.start_index + steps,
        first + steps,
    )
