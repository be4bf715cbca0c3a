"""One layer of a scene, prepared: a pattern on its zone, composited over what lies below."""

import numpy as np
from numpy.typing import NDArray

from node_agent.render.patterns import Light, TimedLight, prepare
from node_agent.render.placement import Placement
from schemas import Layer

_SCATTERED = 8  # with more stretches than this, one gather and scatter is cheaper than a visit to each stretch


class PreparedLayer:
    """Composites onto the planes (3, pixels) of a frame; pixels outside the zone stay as they are.

    over = below + opacity x cover x (colour - below), in linear light.
    """

    def __init__(self, layer: Layer, placement: Placement) -> None:
        self._light: TimedLight = prepare(layer.pattern, placement)
        self._opacity = np.float32(layer.opacity)
        frame_index = placement.frame_index
        breaks = np.flatnonzero(np.diff(frame_index) != 1) + 1
        begins, ends = np.append(0, breaks), np.append(breaks, frame_index.size)
        self._stretches = [
            (slice(int(frame_index[begin]), int(frame_index[begin]) + int(end - begin)), slice(int(begin), int(end)))
            for begin, end in zip(begins, ends, strict=True)
        ]
        self._scattered = frame_index if len(self._stretches) > _SCATTERED else None
        self._covered = np.empty(frame_index.size, dtype=np.float32)
        self._difference = np.empty((3, frame_index.size), dtype=np.float32)

    @property
    def moves(self) -> bool:
        return not isinstance(self._light, Light)

    def composite(self, planes: NDArray[np.float32], show_time_s: float) -> None:
        light = self._light.evaluate(show_time_s)
        cover = light.cover
        if cover is not None and self._opacity != 1:
            cover = np.multiply(cover, self._opacity, out=self._covered)
        if self._scattered is not None:
            below = planes[:, self._scattered]
            self._over(below, light.colour, cover, self._difference)
            planes[:, self._scattered] = below
            return
        for of_frame, of_zone in self._stretches:
            colour = light.colour if light.colour.shape[1] == 1 else light.colour[:, of_zone]
            part = None if cover is None else cover[of_zone]
            self._over(planes[:, of_frame], colour, part, self._difference[:, of_zone])

    def _over(
        self,
        below: NDArray[np.float32],
        colour: NDArray[np.float32],
        cover: NDArray[np.float32] | None,
        difference: NDArray[np.float32],
    ) -> None:
        if cover is None and self._opacity == 1:
            below[...] = colour
            return
        np.subtract(colour, below, out=difference)
        np.multiply(difference, self._opacity if cover is None else cover, out=difference)
        np.add(below, difference, out=below)
