"""Holds light, frame after frame, against every threshold of flashes."""

import copy
from collections.abc import Iterable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.scenes.flash.changes import BT1702, WCAG, Changes, LuminanceChanges, RedChanges
from hub.scenes.flash.front import Front
from hub.scenes.flash.photometry import chromaticity, luminance
from hub.scenes.flash.tally import FlashTally, Worst
from hub.scenes.flash.thresholds import Test

LEVELS_AT_ONCE: Final = 2**18
MOST_FRAMES_AT_ONCE: Final = 64
STANDARDS_PART_ABOVE: Final = 0.8999
"""Relative luminance up to which both standards find the same general flashes: BT.1702's contrast of 1/17 from a darker
state of 0.8 on reaches beyond 0.9."""


class FlashAnalysis:
    """Memory is bounded by the pixels: frames are looked at some at a time and let go."""

    def __init__(self, front: Front) -> None:
        self._pixels = len(front.pixel_sr)
        self._front = front
        self._general = {Test.GENERAL_WCAG: LuminanceChanges(WCAG, self._pixels)}
        self._red = RedChanges(self._pixels)
        self._tallies = {test: (FlashTally(front), FlashTally(front)) for test in (Test.GENERAL_WCAG, Test.RED_WCAG)}
        frames = max(1, min(MOST_FRAMES_AT_ONCE, LEVELS_AT_ONCE // max(self._pixels, 1)))
        self._planes = np.empty((3, frames, self._pixels), dtype=np.float32)
        self._at_s: list[float] = []
        self._before_s: float | None = None

    def add(self, at_s: float, light: NDArray[np.float32]) -> None:
        """Linear RGB light 0..1 of every pixel of the front, shape (pixels, 3), at a show time after the one before."""
        self._planes[:, len(self._at_s)] = light.T
        self._at_s.append(at_s)
        if len(self._at_s) == self._planes.shape[1]:
            self._look()

    def worst(self) -> dict[Test, Worst]:
        """By test, the worse of both directions of change. Call it after the last frame."""
        self._look()
        worst = {test: min((tally.worst for tally in both), key=_badness) for test, both in self._tallies.items()}
        return {test: worst.get(test, worst[Test.GENERAL_WCAG]) for test in Test}

    def _look(self) -> None:
        if not self._at_s or not self._pixels:
            self._at_s.clear()
            return
        planes = self._planes[:, : len(self._at_s)]
        levels = luminance(planes)
        if Test.GENERAL_BT1702 not in self._general and levels.max() > STANDARDS_PART_ABOVE:
            self._part_standards()
        for test, changes in self._general.items():
            self._tell(test, changes.find(levels))
        self._tell(Test.RED_WCAG, self._red.find(chromaticity(planes)))
        self._before_s = self._at_s[-1]
        self._at_s.clear()

    def _part_standards(self) -> None:
        """From here on BT.1702 may find other flashes than WCAG; so far both found the same."""
        shared: dict[int, object] = {id(self._front): self._front}
        self._general[Test.GENERAL_BT1702] = self._general[Test.GENERAL_WCAG].continued(BT1702)
        self._tallies[Test.GENERAL_BT1702] = copy.deepcopy(self._tallies[Test.GENERAL_WCAG], shared)

    def _tell(self, test: Test, found: Iterable[Changes]) -> None:
        rising, falling = self._tallies[test]
        for changes in found:
            at_s = self._at_s[changes.frame]
            since_s = self._at_s[changes.frame - 1] if changes.frame else self._before_s
            since_s = at_s if since_s is None else since_s
            if len(changes.rising):
                rising.add(since_s, at_s, changes.rising)
            if len(changes.falling):
                falling.add(since_s, at_s, changes.falling)


def _badness(worst: Worst) -> tuple[float, float]:
    return worst.shortest_s, -worst.area_sr
