"""Zones flattened: groups resolved in order, every span placed in metres and pixels along its whole zone."""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from hub.errors import InvalidError, Mistake
from schemas import Extent, PlacedSpan, Span, Venue, Zone


@dataclass(frozen=True, slots=True)
class FlatZone:
    """A zone with its extent and, by node, the spans that lie on that node, in the zone's order."""

    id: str
    extent: Extent
    spans_by_node: Mapping[str, tuple[PlacedSpan, ...]]


def flatten_zones(venue: Venue) -> dict[str, FlatZone]:
    """Every zone of the venue by id. Raises InvalidError for a dangling or circular `of`, which a loaded venue has not.

    The distance along a zone is the sum of its spans' path lengths: gaps between spans do not count.
    """
    zones = {zone.id: zone for zone in venue.zones}
    lengths: dict[int, float] = {}
    return {zone.id: _flatten(zone, _leaf_spans(zone, zones, ()), lengths) for zone in venue.zones}


def path_length_m(path: Sequence[tuple[float, float]]) -> float:
    """Length of a path of straight pieces, metres."""
    return sum(math.dist(start, end) for start, end in itertools.pairwise(path))


def extent_of(spans: Sequence[Span]) -> Extent:
    """Size of a zone of spans, as the boards know it."""
    return _extent(spans, sum(path_length_m(span.path) for span in spans), sum(span.pixels for span in spans))


def _extent(spans: Sequence[Span], length_m: float, pixels: int) -> Extent:
    xs = [x for span in spans for x, _ in span.path]
    ys = [y for span in spans for _, y in span.path]
    return Extent(
        length_m=round(length_m, 6),
        pixels=pixels,
        x_min_m=min(xs),
        x_max_m=max(xs),
        y_min_m=min(ys),
        y_max_m=max(ys),
    )


def _leaf_spans(zone: Zone, zones: Mapping[str, Zone], above: tuple[str, ...]) -> list[Span]:
    if zone.spans:
        return list(zone.spans)
    trail = (*above, zone.id)
    spans: list[Span] = []
    for part in zone.of:
        if part in trail or part not in zones:
            fault = "joins itself" if part in trail else f"joins {part!r}, which the venue does not have"
            mistake = Mistake(f"zones.{zone.id}.of", fault, "name other zones of this venue")
            raise InvalidError(f"zone {zone.id!r} {fault}", [mistake])
        spans += _leaf_spans(zones[part], zones, trail)
    return spans


def _flatten(zone: Zone, spans: Sequence[Span], lengths: dict[int, float]) -> FlatZone:
    by_node: dict[str, list[PlacedSpan]] = {}
    start_m, start_index = 0.0, 0
    for span in spans:
        # Spans come checked from the venue; validating 100,000 of them again would cost seconds.
        placed = PlacedSpan.model_construct(
            channel=span.channel,
            first=span.first,
            pixels=span.pixels,
            path=span.path,
            start_m=round(start_m, 6),
            start_index=start_index,
        )
        by_node.setdefault(span.node, []).append(placed)
        length_m = lengths.get(id(span))
        if length_m is None:
            length_m = lengths[id(span)] = path_length_m(span.path)
        start_m += length_m
        start_index += span.pixels
    return FlatZone(
        zone.id, _extent(spans, start_m, start_index), {node: tuple(placed) for node, placed in by_node.items()}
    )
