"""The renderer: a scene and a show time in, linear RGB of every pixel of a node out."""

from collections.abc import Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from node_agent.render.layer import PreparedLayer
from node_agent.render.placement import Placement, channel_slices, place_zone
from node_agent.render.trims import gains_of
from schemas import DesiredBody, Scene

_SCENES_KEPT: Final = 8


class _PreparedScene:
    """The still layers at the bottom are composited once into `ground`; `above` are the others in their order."""

    def __init__(self, scene: Scene, placements: Mapping[str, Placement], pixel_count: int) -> None:
        self.scene = scene  # held so that its identity, by which it is looked up, cannot pass to another object
        layers = [PreparedLayer(layer, placements[layer.zone]) for layer in scene.layers if layer.zone in placements]
        still = next((number for number, layer in enumerate(layers) if layer.moves), len(layers))
        self.ground = np.zeros((3, pixel_count), dtype=np.float32)
        for layer in layers[:still]:
            layer.composite(self.ground, 0.0)
        self.above = layers[still:]


class Renderer:
    """Renders any scene on one node's wiring and zones. A scene is prepared when that very object is first seen.

    Pure in what it answers: the same scene and show time give the same frame, in any order. Buffers are reused inside,
    so one renderer belongs to one thread. Raises PlacementError when zones and channels do not fit together.
    """

    pixel_count: int
    channel_slices: Mapping[int, slice]

    def __init__(self, body: DesiredBody, scenes_kept: int = _SCENES_KEPT) -> None:
        """So many scenes, those used last, stay prepared."""
        self._scenes_kept = scenes_kept
        self.channel_slices = channel_slices(body)
        self.pixel_count = sum(channel.pixels for channel in body.channels)
        self._placements = {zone.id: place_zone(zone, self.channel_slices) for zone in body.zones}
        self._prepared: dict[int, _PreparedScene] = {}
        self._gains = gains_of(body, self.channel_slices)
        self._planes = np.empty((3, self.pixel_count), dtype=np.float32)

    def render(self, scene: Scene, show_time_s: float, out: NDArray[np.float32] | None = None) -> NDArray[np.float32]:
        """Linear RGB in 0..1, shape (pixels, 3), all channels in order of their numbers.

        Without `out` the frame is a new array whose colour planes lie one after another (column order in memory), as
        numpy works fastest on it; `out` may have any layout. Layers over zones foreign to the node add nothing.
        """
        prepared = self.prepare(scene)
        planes = np.empty((3, self.pixel_count), dtype=np.float32) if out is None else self._planes
        np.copyto(planes, prepared.ground)
        for layer in prepared.above:
            layer.composite(planes, show_time_s)
        if self._gains is not None:
            planes *= self._gains
        # Rounding may leave a composite a last place outside.
        np.maximum(planes, np.float32(0), out=planes)
        np.minimum(planes, np.float32(1), out=planes)
        if out is None:
            return planes.T
        np.copyto(out, planes.T)
        return out

    def prepare(self, scene: Scene) -> _PreparedScene:
        """What `render` needs of the scene: made now, its next frame costs no more than others."""
        prepared = self._prepared.pop(id(scene), None)
        if prepared is None:
            if len(self._prepared) >= self._scenes_kept:
                del self._prepared[next(iter(self._prepared))]
            prepared = _PreparedScene(scene, self._placements, self.pixel_count)
        self._prepared[id(scene)] = prepared
        return prepared
