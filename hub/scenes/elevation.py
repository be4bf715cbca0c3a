"""The elevation: where every pixel of a venue lies, and its place in a frame of live colours."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field

from schemas import Venue


class ElevationSpan(BaseModel):
    """Neighbouring pixels of one channel."""

    node: str
    channel: int
    first: int = Field(description="Index on the channel of the span's first pixel.")
    pixels: int
    points: list[tuple[float, float]] = Field(description="Centre of each pixel: x to the right, y up, metres.")
    offset: int = Field(description="Index in a frame of the span's first pixel.")


class ElevationZone(BaseModel):
    """A zone of spans; zones that join others are not repeated here."""

    id: str
    title: str
    spans: list[ElevationSpan]


class Elevation(BaseModel):
    """The front as it is drawn. `pixels` is the length of a frame."""

    venue: str
    title: str
    pixels: int
    zones: list[ElevationZone]
    x_min_m: float
    x_max_m: float
    y_min_m: float
    y_max_m: float


def elevation_of(venue: Venue) -> Elevation:
    """Every pixel that lies in a zone, once. Frames are in order of node (as the venue lists them), channel, pixel."""
    nodes = {node.id: place for place, node in enumerate(venue.nodes)}
    spans = [(zone.id, span) for zone in venue.zones for span in zone.spans]
    spans.sort(key=lambda placed: (nodes[placed[1].node], placed[1].channel, placed[1].first))
    by_zone: dict[str, list[ElevationSpan]] = {}
    corners: list[NDArray[np.float64]] = []
    offset = 0
    for zone_id, span in spans:
        points = pixel_centres(span.path, span.pixels)
        corners += [points.min(axis=0), points.max(axis=0)]
        placed = ElevationSpan.model_construct(
            node=span.node,
            channel=span.channel,
            first=span.first,
            pixels=span.pixels,
            points=list(map(tuple, points.round(4).tolist())),
            offset=offset,
        )
        by_zone.setdefault(zone_id, []).append(placed)
        offset += span.pixels
    low, high = (np.min(corners, axis=0), np.max(corners, axis=0)) if corners else (np.zeros(2), np.zeros(2))
    return Elevation(
        venue=venue.id,
        title=venue.title,
        pixels=offset,
        zones=[
            ElevationZone.model_construct(id=zone.id, title=zone.title or zone.id, spans=by_zone[zone.id])
            for zone in venue.zones
            if zone.spans
        ],
        x_min_m=float(low[0]),
        x_max_m=float(high[0]),
        y_min_m=float(low[1]),
        y_max_m=float(high[1]),
    )


def points_of(elevation: Elevation) -> NDArray[np.float64]:
    """Where each pixel of a frame lies, metres, shape (pixels, 2)."""
    points = np.zeros((elevation.pixels, 2))
    for zone in elevation.zones:
        for span in zone.spans:
            points[span.offset : span.offset + span.pixels] = span.points
    return points


def pixel_centres(path: Sequence[tuple[float, float]], pixels: int) -> NDArray[np.float64]:
    """Shape (pixels, 2), metres: spread evenly along the path, centre i at (i + ½)/n, as `schemas.Span` says."""
    corners = np.asarray(path, dtype=np.float64)
    corner_m = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))))
    arc_m = (np.arange(pixels) + 0.5) / pixels * corner_m[-1]
    return np.stack([np.interp(arc_m, corner_m, corners[:, 0]), np.interp(arc_m, corner_m, corners[:, 1])], axis=1)
