"""Checks of scenes: layers over zones that exist, spots inside their zone."""

from collections.abc import Iterator

from hub.venue_file.fault import Fault
from hub.venue_file.index import VenueIndex
from hub.venue_file.zone_checks import leaves_of
from node_agent.render.patterns.spot import Spot


def scene_faults(index: VenueIndex) -> Iterator[Fault]:
    """Everything wrong with the scenes."""
    opening = index.venue.opening_scene
    if opening is not None and opening not in index.names["scene"]:
        yield Fault(
            ("opening_scene",),
            f"there is no scene {opening!r}",
            index.remedy_for_dangling(opening, "scene"),
        )
    pixels = _pixels_of_zones(index)
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
            elif isinstance(layer.pattern, Spot) and layer.zone in pixels:
                count = pixels[layer.zone]
                for span_place, span in enumerate(layer.pattern.spans):
                    if span.first + span.pixels > count:
                        yield Fault(
                            (*where, "pattern", "spans", span_place),
                            f"the spot reaches pixel {span.first + span.pixels - 1}, past the end of its zone: "
                            f"the last pixel of {layer.zone!r} is {count - 1}",
                            "shorten the spot, or correct `first`",
                        )


def _pixels_of_zones(index: VenueIndex) -> dict[str, int]:
    """Pixels of each zone; without those that lead to a zone which could not be read."""
    own = {zone.id: sum(span.pixels for span in zone.spans) for zone in index.zones.values()}
    leaves = leaves_of(index)
    uncertain = set(index.names["zone"] - index.zones.keys())
    counts: dict[str, int] = {}
    for zone_id, below in leaves.items():
        if uncertain.isdisjoint(index.zones[zone_id].of):
            counts[zone_id] = sum(own[leaf] for leaf in below)
        else:
            uncertain.add(zone_id)
    return counts
