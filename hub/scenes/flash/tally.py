"""Whether leading edges of one direction break a threshold: too many in a second over too much of a field of 10°."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from hub.scenes.flash.changes import Pixels
from hub.scenes.flash.counting import FlashCounter
from hub.scenes.flash.front import Front
from hub.scenes.flash.thresholds import AREA_SR, FLASHES_ALLOWED, ROUNDING, SECOND_S
from hub.scenes.flash.together import Together

NEAR_LIMIT_S: Final = 1.03
"""Four leading edges within this time, but not within a second, are at the limit: up from 2.92 flashes a second. It is
a second and the uncertainty of two instants, so that three a second are always among them."""


@dataclass(slots=True, eq=False)
class Worst:
    """The flashes at their worst so far. Without a `field` nothing came near the limit."""

    shortest_s: float = NEAR_LIMIT_S
    """The shortest time into which one flash too many fell, over too large an area."""
    from_s: float = 0.0
    """Show time at which that time began."""
    field: int | None = None
    """The field of 10° in which it was, and the pixels of it that flashed."""
    pixels: Pixels | None = None
    area_sr: float = 0.0
    """The largest area that flashed so in any field."""
    first_s: float | None = None
    """Show time from which on the limit was first broken."""
    a_second: int = 0
    """The most flashes in any second, of places that are together too large."""

    @property
    def fails(self) -> bool:
        return self.shortest_s < SECOND_S - ROUNDING


class FlashTally:
    """Two readings, and either breaks the limit: pixels that each flash too often within the same second add up to too
    much of a field; or areas of a field that are each too much flash by turns, too often within a second.
    """

    def __init__(self, front: Front) -> None:
        self._front = front
        pixels, fields = len(front.pixel_sr), len(front.centres_m)
        self._pixels, self._fields = FlashCounter(pixels), FlashCounter(fields)
        self._together = Together(front)
        self.worst = Worst()

    def add(self, since_s: float, at_s: float, pixels: Pixels) -> None:
        """Leading edges of these pixels, after `since_s` and at `at_s` at the latest. Calls are in order of time."""
        self._pixels.count(since_s, at_s, pixels)
        if self._pixels.since_first_of_four_s(at_s, pixels).min() < max(self.worst.shortest_s, SECOND_S):
            self._each_too_often(at_s)
        self._by_turns(since_s, at_s, pixels)

    def _each_too_often(self, at_s: float) -> None:
        spans_s = self._pixels.since_first_of_four_s(at_s)
        while (areas := self._front.flashing_sr(spans_s < self.worst.shortest_s)) is not None:
            field = int(areas.argmax())
            if areas[field] <= AREA_SR:
                break
            # Shorter and shorter, until what flashes four times within it is nowhere too much.
            pixels = self._front.pixels_of(field)
            pixels = pixels[np.argsort(spans_s[pixels], kind="stable")]
            decisive = int(np.argmax(np.cumsum(self._front.pixel_sr[pixels]) > AREA_SR))
            shortest_s = float(spans_s[pixels[decisive]])
            if shortest_s >= self.worst.shortest_s:  # added up in another order it is just not too much
                break
            self._note_area(float(areas[field]))
            self._note_shortest(shortest_s, at_s, field, pixels[: decisive + 1])
        counts = self._pixels.in_last_second()
        while (areas := self._front.flashing_sr(counts > max(self.worst.a_second, FLASHES_ALLOWED))) is not None:
            if areas.max() <= AREA_SR:
                break
            self._note_area(float(areas.max()))
            self.worst.a_second = max(self.worst.a_second, FLASHES_ALLOWED) + 1

    def _by_turns(self, since_s: float, at_s: float, pixels: Pixels) -> None:
        fields = self._together.add(since_s, at_s, pixels)
        if not len(fields):
            return
        together = self._together
        self._fields.count(together.began_s[fields], at_s, fields)
        spans_s = self._fields.since_first_of_four_s(at_s, fields)
        shortest = int(spans_s.argmin())
        if spans_s[shortest] < self.worst.shortest_s:
            field = int(fields[shortest])
            self._note_area(float(together.by_field_sr[field]))
            self._note_shortest(float(spans_s[shortest]), at_s, field, together.pixels_of(field))
        most = int(self._fields.in_last_second().max())
        if most > FLASHES_ALLOWED:
            self.worst.a_second = max(self.worst.a_second, most)

    def _note_area(self, area_sr: float) -> None:
        self.worst.area_sr = max(self.worst.area_sr, area_sr)

    def _note_shortest(self, span_s: float, at_s: float, field: int, pixels: Pixels) -> None:
        worst = self.worst
        worst.shortest_s, worst.from_s, worst.field, worst.pixels = span_s, at_s - span_s, field, pixels
        if worst.fails and worst.first_s is None:
            worst.first_s = worst.from_s
