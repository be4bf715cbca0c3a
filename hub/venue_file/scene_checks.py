"""Checks of scenes: layers over zones that exist, patterns and masks that fit their zone."""

from collections.abc import Iterator

from hub.desired import extent_of
from hub.venue_file.fault import Fault
from hub.venue_file.index import VenueIndex
from hub.venue_file.zone_checks import leaves_of
from node_agent.render import PatternStatement
from schemas import Extent


def scene_faults(index: VenueIndex) -> Iterator[Fault]:
    """Everything wrong with the scenes."""
    opening = index.venue.opening_scene
    if opening is not None and opening not in index.names["scene"]:
        yield Fault(
            ("opening_scene",),
            f"there is no scene {opening!r}",
            index.remedy_for_dangling(opening, "scene"),
        )
    extents = _Extents(index)
    for place, scene in enumerate(index.venue.scenes):
        for layer_place, layer in enumerate(scene.layers):
            where = ("scenes", place, "layers", layer_place)
            if layer.zone not in index.zones:
                if layer.zone not in index.names["zone"]:
                    yield Fault(
                        (*where, "zone"),
                        f"there is no zone {layer.zone!r}",
                        index.remedy_for_dangling(layer.zone, "zone"),
                    )
                continue
            extent = extents.of(layer.zone)
            for field, pattern in (("pattern", layer.pattern), ("mask", layer.mask)):
                if extent is not None and isinstance(pattern, PatternStatement):
                    for misfit in pattern.misfits(extent):
                        yield Fault((*where, field, *misfit.where), misfit.reason, misfit.remedy)


class _Extents:
    """Extents of zones, each worked out once; None for those that lead to a zone which could not be read."""

    def __init__(self, index: VenueIndex) -> None:
        self._zones = index.zones
        self._leaves: dict[str, frozenset[str]] = {}
        for zone, leaves in leaves_of(index).items():
            if all(member in self._leaves for member in index.zones[zone].of):
                self._leaves[zone] = leaves
        self._known: dict[str, Extent] = {}

    def of(self, zone: str) -> Extent | None:
        spans = [span for leaf in self._leaves.get(zone, ()) for span in self._zones[leaf].spans]
        if zone not in self._known and spans:
            self._known[zone] = extent_of(spans)
        return self._known.get(zone)
