"""Wave: a travelling sine between two colours, in linear light."""

import math

import numpy as np

from node_agent.render.colour import linear_rgb
from node_agent.render.patterns.light import Light
from node_agent.render.placement import Placement
from schemas import Wave


class WaveLight:
    """½ + ½ sin(a − b), with a from the place and b from the time, is opened up as ½ + ½ sin a cos b − ½ cos a sin b:
    a frame then needs no sine of an array, and rounds the same on every processor.
    """

    def __init__(self, pattern: Wave, placement: Placement) -> None:
        turns = placement.along_m(pattern.along) / pattern.wavelength_m
        angle = 2 * np.pi * (turns % 1.0)
        self._half_sine = (0.5 * np.sin(angle)).astype(np.float32)
        self._half_cosine = (0.5 * np.cos(angle)).astype(np.float32)
        self._turns_per_s = pattern.speed_m_per_s / pattern.wavelength_m
        self._trough = linear_rgb(pattern.trough)[:, None]
        self._rise = linear_rgb(pattern.crest)[:, None] - self._trough
        self._height = np.empty_like(self._half_sine)
        self._part = np.empty_like(self._half_sine)
        self._light = Light(np.empty((3, turns.size), dtype=np.float32))

    def evaluate(self, show_time_s: float) -> Light:
        angle = 2 * math.pi * (show_time_s * self._turns_per_s % 1.0)
        height, part, colour = self._height, self._part, self._light.colour
        np.multiply(self._half_sine, np.float32(math.cos(angle)), out=height)
        np.multiply(self._half_cosine, np.float32(math.sin(angle)), out=part)
        height -= part
        height += np.float32(0.5)
        np.multiply(self._rise, height, out=colour)
        np.add(colour, self._trough, out=colour)
        return self._light
