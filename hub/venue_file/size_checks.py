"""Checks that what the scenes say fits the documents of the nodes, so that it is told before anything is rolled out."""

from collections.abc import Iterator
from typing import Final

from hub.desired import oversized_bodies
from hub.errors import InvalidError
from hub.venue_file.fault import Fault
from schemas.bounds import MAX_DESIRED_BYTES
from schemas.scene import Layer
from schemas.venue import Venue

# Below it the scenes are not what makes a document too large; compiling 2,000 nodes to know takes two seconds.
WORTH_A_LOOK_BYTES: Final = MAX_DESIRED_BYTES // 4
_REMEDY = "make it smaller (fewer points or stops), take layers or scenes out, or lay it over fewer nodes"


def size_faults(venue: Venue) -> Iterator[Fault]:
    """Nodes whose documents would be too large, each told at the heaviest layer over it. For a venue without faults."""
    sizes = {id(layer): _bytes(layer) for scene in venue.scenes for layer in scene.layers}
    if sum(sizes[id(layer)] for scene in venue.scenes for layer in scene.layers) <= WORTH_A_LOOK_BYTES:
        return
    try:
        oversized = oversized_bodies(venue)
    except InvalidError:
        # Too many zones, spans or trims on a node; its own words are better than these.
        return
    by_layer: dict[int, list[tuple[str, int]]] = {}
    for node, (body, document_bytes) in oversized.items():
        layers = (layer for scene in body.scenes for layer in scene.layers if id(layer) in sizes)  # no built-in scene's
        heaviest = max(layers, key=lambda one: sizes[id(one)])
        by_layer.setdefault(id(heaviest), []).append((node, document_bytes))
    for place, scene in enumerate(venue.scenes):
        for layer_place, layer in enumerate(scene.layers):
            if nodes := by_layer.pop(id(layer), None):
                node, document_bytes = max(nodes, key=lambda one: one[1])
                others = f" (and {len(nodes) - 1} more)" if len(nodes) > 1 else ""
                yield Fault(
                    ("scenes", place, "layers", layer_place),
                    f"the scenes would give node {node!r}{others} a document of {document_bytes:,} bytes, where a node "
                    f"takes {MAX_DESIRED_BYTES:,}; this layer is the largest of them with {sizes[id(layer)]:,}",
                    _REMEDY,
                )


def _bytes(layer: Layer) -> int:
    return len(layer.model_dump_json())
