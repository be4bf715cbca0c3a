"""Areas of the fields of 10° that flash as one."""

from collections import deque
from typing import Final

import numpy as np

from hub.scenes.flash.changes import Pixels
from hub.scenes.flash.front import Front
from hub.scenes.flash.thresholds import AREA_SR

TOGETHER_S: Final = 0.040
"""Edges less than this apart are one flash of their areas: the time of one picture of television, for which BT.1702 is
written."""
GOES_ON_SR: Final = AREA_SR / 4
"""While this much flashes together, a flash goes on: light that moves across a field is one flash, not one for each
pixel that it reaches."""


class Together:
    """Pixels whose last leading edge is less than TOGETHER_S old wherever it lay between instants, added up by field as
    they come and go.

    A flash of a field begins once GOES_ON_SR flash together after none did for TOGETHER_S, and counts once it has come
    to be too much. `began_s`: when at the earliest each field's last flash began, show time.
    """

    def __init__(self, front: Front) -> None:
        self._front = front
        self._edges: deque[tuple[float, int, Pixels]] = deque()
        self._number = 0
        self._last_edge = np.full(len(front.pixel_sr), -1, dtype=np.int64)
        self.by_field_sr = np.zeros(len(front.centres_m))
        self.began_s = np.full(len(front.centres_m), -np.inf)
        # A flash that goes on at show time 0 began before anyone looked: when is unknown, so it is left out.
        self._went_on_s = np.zeros(len(front.centres_m))
        self._counted = np.zeros(len(front.centres_m), dtype=np.bool_)

    def add(self, since_s: float, at_s: float, pixels: Pixels) -> Pixels:
        """These pixels have a leading edge after `since_s`, at `at_s` at the latest. The fields that now flash anew."""
        self._forget(at_s)
        self._edges.append((since_s, self._number, pixels))
        fresh = pixels[self._last_edge[pixels] < 0]
        self._last_edge[pixels] = self._number
        self._number += 1
        self.by_field_sr += self._front.by_field_sr(fresh)
        going_on = np.flatnonzero(self.by_field_sr > GOES_ON_SR)
        begun = going_on[self._went_on_s[going_on] <= at_s - TOGETHER_S]
        self.began_s[begun] = since_s
        self._counted[begun] = False
        self._went_on_s[going_on] = at_s
        flashing = going_on[self.by_field_sr[going_on] > AREA_SR]
        anew: Pixels = flashing[~self._counted[flashing]]
        self._counted[anew] = True
        return anew

    def pixels_of(self, field: int) -> Pixels:
        """Those of one field."""
        pixels = self._front.pixels_of(field)
        together: Pixels = pixels[self._last_edge[pixels] >= 0]
        return together

    def _forget(self, at_s: float) -> None:
        while self._edges and self._edges[0][0] <= at_s - TOGETHER_S:
            _, number, pixels = self._edges.popleft()
            pixels = pixels[self._last_edge[pixels] == number]
            self._last_edge[pixels] = -1
            self.by_field_sr -= self._front.by_field_sr(pixels)
