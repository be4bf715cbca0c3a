"""Chase: lit stretches that travel along the zone, evenly spaced, soft at their trailing end."""

import numpy as np

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from node_agent.render.placement import Placement
from schemas import Chase


class ChaseLight:
    """A pixel is some distance behind the nearest leading end ahead of it: lit over the length, fading over the tail.

    Distances are in spacings, so that one floor brings them back into 0..1. At show time 0 a stretch lies on the
    first `length_m` of the zone.
    """

    def __init__(self, pattern: Chase, placement: Placement) -> None:
        spacing_m = pattern.spacing_m
        along = placement.along_m(pattern.along) / spacing_m
        length = pattern.length_m / spacing_m
        forward = pattern.speed_m_per_s >= 0
        behind = length - along if forward else along
        self._behind = (behind % 1.0).astype(np.float32)
        self._spacings_per_s = abs(pattern.speed_m_per_s) / spacing_m
        self._length = np.float32(length)
        self._tail = np.float32(pattern.tail_m / spacing_m)
        self._distance = np.empty_like(self._behind)
        self._part = np.empty_like(self._behind)
        self._cover = np.empty_like(self._behind)
        self._light = Light(linear_rgb(pattern.colour)[:, None], self._cover)

    def evaluate(self, show_time_s: float) -> Light:
        distance, part, cover = self._distance, self._part, self._cover
        np.add(self._behind, np.float32(show_time_s * self._spacings_per_s % 1.0), out=distance)
        np.floor(distance, out=part)
        distance -= part
        if self._tail > 0:
            np.subtract(self._length + self._tail, distance, out=distance)
            distance /= self._tail
            np.clip(distance, 0.0, 1.0, out=cover)
        else:
            np.less(distance, self._length, out=cover, casting="unsafe")
        return self._light
