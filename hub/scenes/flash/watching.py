"""Watches a scene over its whole period, as rendered and limited by the boards' own code."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from hub.scenes.elevation import Elevation
from hub.scenes.flash.analysis import FlashAnalysis
from hub.scenes.flash.front import Front, Points, front_of
from hub.scenes.flash.instants import LONGEST_INTERVAL_S, instants, interval_for
from hub.scenes.flash.tally import Worst
from hub.scenes.flash.thresholds import SECOND_S, Test
from hub.scenes.lights import VenueLights
from hub.scenes.period import Window, window_of
from schemas import Scene

PIXELS_RENDERED: Final = 200_000_000
"""Work is bounded: of a scene that would take more, less is looked at, and the report says so."""
PIXELS_LOOKED_AT: Final = 20_000
LONGEST_UNREPEATED_S: Final = 120.0
"""Of a scene that does not repeat within the longest window there is no whole to be seen; this much tells as much."""
WARM_UP_S: Final = 5.0
"""How much of a second round is looked at, besides a second, so that what begins in one round and goes on in the next
is seen as it will be again and again."""
SHORTEST_S: Final = 4.0
"""For a scene whose round is a moment, so that its seconds are met by the instants in several ways."""
FRAMES_A_BREATH: Final = 64
_SETTLED_S: Final = 1e6


@dataclass(frozen=True, slots=True, eq=False)
class Viewpoint:
    """Where the front is seen from, and each pixel's zone: of every `every`th pixel of the elevation, in its order."""

    front: Front
    every: int
    zones: tuple[str, ...]
    zone_of_pixel: np.ndarray[tuple[int], np.dtype[np.intp]]


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What was seen of a scene, and how closely."""

    worst: dict[Test, Worst]
    window: Window
    instants: int
    seen_s: float

    @property
    def shortest_s(self) -> float:
        return min(worst.shortest_s for worst in self.worst.values())

    @property
    def fails(self) -> bool:
        return any(worst.fails for worst in self.worst.values())


def viewpoint_of(elevation: Elevation, distance_m: float, reach_m: float) -> Viewpoint:
    """Of a venue's elevation."""
    points_m = np.zeros((elevation.pixels, 2))
    zone_of_pixel = np.zeros(elevation.pixels, dtype=np.intp)
    for number, zone in enumerate(elevation.zones):
        for span in zone.spans:
            points_m[span.offset : span.offset + span.pixels] = span.points
            zone_of_pixel[span.offset : span.offset + span.pixels] = number
    every = max(1, math.ceil(elevation.pixels / PIXELS_LOOKED_AT))
    chosen: Points = points_m[::every]
    zones = tuple(zone.id for zone in elevation.zones)
    return Viewpoint(front_of(chosen, distance_m, reach_m), every, zones, zone_of_pixel[::every])


def no_pause() -> None:
    """Goes straight on to the next frames."""


def watch(lights: VenueLights, scene: Scene, viewpoint: Viewpoint, breathe: Callable[[], None]) -> Seen:
    """Watch the scene from show time 0 on; `lights` are of a venue whose scenes light the same zones."""
    window, until_s, interval_s = _plan(window_of(scene, lights.extents), lights.pixels)
    analysis = FlashAnalysis(viewpoint.front)
    if not len(viewpoint.front.centres_m):  # nowhere are enough pixels within a field to flash too much
        return Seen(analysis.worst(), window, 0, 0.0)
    before_s, count = -_SETTLED_S, 0
    for at_s in instants(until_s, interval_s):
        # Rounded codes: of light that is dithered the standard takes the mean.
        frame = lights.limit(lights.linear_of(scene, at_s), at_s - before_s)
        analysis.add(at_s, lights.light(frame.codes)[:: viewpoint.every])
        before_s, count = at_s, count + 1
        if count % FRAMES_A_BREATH == 0:
            breathe()
    return Seen(analysis.worst(), window, count, until_s)


def _plan(window: Window, pixels: int) -> tuple[Window, float, float]:
    """(what of the window is watched, until when, mean interval), as far as the work allows."""
    if not window.whole:
        window = Window(min(window.length_s, LONGEST_UNREPEATED_S), whole=False)
    until_s = window.length_s
    if window.whole:
        until_s = max(until_s + min(until_s, WARM_UP_S) + SECOND_S, SHORTEST_S)
    most = max(PIXELS_RENDERED // max(pixels, 1), 1)
    interval_s = max(interval_for(until_s), min(until_s / most, LONGEST_INTERVAL_S))
    if until_s / interval_s > most:
        until_s = most * interval_s
        window = Window(min(window.length_s, until_s), whole=False)
    return window, until_s, interval_s
