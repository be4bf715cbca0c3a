"""Text: words over a zone of rows of pixels, standing or running."""

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Annotated, Final, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, Field

from node_agent.render.colour import linear_rgb
from node_agent.render.dot_letters import ROWS, words_in_dots
from node_agent.render.patterns.light import Light, TimedLight
from node_agent.render.patterns.statement import Metres, MetresPerSecond, Misfit, PatternStatement, SoftMetres, exact
from node_agent.render.placement import Placement
from schemas import Extent
from schemas.colour import Colour

LEAST_HEIGHT_M: Final = 0.001  # on a zone that is lower no letter can stand
SHARPEST_DOTS: Final = 0.25
"""Over what part of a dot its edge goes from dark to light, at the least."""

_LEVELS: Final = 8  # steps from one row of dots to the next, in which its edge is drawn


def _drawable(words: str) -> str:
    words_in_dots(words)
    return words


class Text(PatternStatement):
    """Words in letters of seven rows of dots over whatever the layers below show, standing or running."""

    pattern: Literal["text"]
    words: Annotated[
        str,
        Field(min_length=1, max_length=80, description="What is to be read.", examples=["Open until nine"]),
        AfterValidator(_drawable),
    ]
    colour: Annotated[Colour, Field(description="The colour of the letters.", examples=["#ffd8a0"])]
    height_m: Annotated[
        Metres | None,
        Field(
            description="From the lowest row of dots to the highest; left out, the height of the zone.",
            json_schema_extra={"unit": "m"},
        ),
    ] = None
    speed_m_per_s: Annotated[
        MetresPerSecond,
        Field(description="How fast they run to the right; negative runs to the left, as one reads; 0 stands."),
    ] = 0.0
    gap_m: Annotated[
        SoftMetres | None,
        Field(
            description="From the end of running words to where they begin again; left out, the width of the zone.",
            json_schema_extra={"unit": "m"},
        ),
    ] = None

    @property
    def weight(self) -> float:
        return 2.0 if self.speed_m_per_s else 1.0

    def misfits(self, extent: Extent) -> Iterator[Misfit]:
        if self.dot_m(extent) == 0:
            yield Misfit(
                ("height_m",),
                "the zone has no height, so that no letter can stand in it",
                "lay the words over a zone with rows one above another, or state height_m",
            )

    def light(self, placement: Placement) -> TimedLight:
        if self.dot_m(placement.extent) == 0:
            return Light(linear_rgb(self.colour)[:, None], np.zeros(placement.x_m.size, dtype=np.float32))
        running = RunningText(self, placement)
        return running if self.speed_m_per_s else running.standing()

    def repeats_after_s(self, extent: Extent) -> Fraction | None:
        length_m = self.repeats_after_m(extent)
        return length_m / abs(exact(self.speed_m_per_s)) if self.speed_m_per_s and length_m else None

    def repeats_after_m(self, extent: Extent) -> Fraction:
        """Words and gap; 0 without room. A gap has a dot at least, or the last letter would touch the first."""
        dot_m = self.dot_m(extent)
        width_m = exact(extent.x_max_m) - exact(extent.x_min_m)
        gap_m = width_m if self.gap_m is None else exact(self.gap_m)
        if dot_m == 0:
            return Fraction(0)
        columns: int = words_in_dots(self.words).shape[1]
        return columns * dot_m + max(gap_m, dot_m)

    def dot_m(self, extent: Extent) -> Fraction:
        """From one row of dots to the next: the outer rows lie on the upper and the lower end of the height."""
        height_m = exact(extent.y_max_m) - exact(extent.y_min_m) if self.height_m is None else exact(self.height_m)
        return height_m / (ROWS - 1) if height_m >= LEAST_HEIGHT_M else Fraction(0)


class RunningText:
    """The words as a strip of dots, of which a frame gathers the columns that have come to each pixel.

    A dot is light between its edges, which are soft over the distance between pixels: so the light of running words
    goes over from one pixel to the next without a jump, and on pixels at the places of dots each dot is one pixel.
    """

    def __init__(self, text: Text, placement: Placement) -> None:
        extent, dot_m = placement.extent, float(text.dot_m(placement.extent))
        self._words = words_in_dots(text.words)
        self._period = float(text.repeats_after_m(extent)) / dot_m
        self._periods_per_s = text.speed_m_per_s / (self._period * dot_m)
        self._width = (extent.x_max_m - extent.x_min_m) / dot_m
        # From the middle of the column before the first to a pixel, in dots.
        self._across = (placement.x_m - extent.x_min_m) / dot_m + 0.5
        below_top = ((extent.y_min_m + extent.y_max_m) / 2 - placement.y_m) / dot_m + (ROWS - 1) / 2
        self._row = self._strip(below_top)
        pixel_m = extent.length_m / extent.pixels
        self._softness = np.float32(min(max(pixel_m / dot_m, SHARPEST_DOTS), 1.0))
        self._place = np.empty_like(self._across)
        self._floor = np.empty_like(self._across)
        self._index = np.empty(self._across.size, dtype=np.intp)
        self._part = np.empty(self._across.size, dtype=np.float32)
        self._next = np.empty(self._across.size, dtype=np.float32)
        self._cover = np.empty(self._across.size, dtype=np.float32)
        self._light = Light(linear_rgb(text.colour)[:, None], self._cover)

    def _strip(self, below_top: NDArray[np.float64]) -> NDArray[np.intp]:
        """Makes the strip: for each height between two rows of dots the light of every column, dark around the words.

        Answers where in the strip the row of each pixel begins.
        """
        columns = self._words.shape[1] + 3  # one dark before the words, two after
        rows = np.zeros((ROWS + 2, columns), dtype=np.float32)
        rows[1:-1, 1:-2] = self._words
        heights = np.arange((ROWS + 1) * _LEVELS + 1) / _LEVELS
        upper = np.minimum(heights.astype(np.intp), ROWS)
        part = np.clip((heights - upper - 0.5) / SHARPEST_DOTS + 0.5, 0.0, 1.0).astype(np.float32)[:, None]
        strip = rows[upper] + part * (rows[upper + 1] - rows[upper])
        self._dots, self._columns = strip.ravel(), columns
        begins: NDArray[np.intp] = np.rint(np.clip(below_top + 1, 0, ROWS + 1) * _LEVELS).astype(np.intp) * columns
        return begins

    def standing(self) -> Light:
        """In the middle, on whole dots; from the left where they are wider than the zone."""
        left = max(math.floor((self._width - self._words.shape[1]) / 2), 0)
        np.clip(self._across - left, 0.0, self._columns - 2.0, out=self._place)
        self._softness = np.float32(SHARPEST_DOTS)
        return self._gathered()

    def evaluate(self, show_time_s: float) -> Light:
        """At show time 0 the words begin at the zone's left end."""
        place = self._place
        through = show_time_s * self._periods_per_s % 1.0
        np.subtract(self._across, through * self._period, out=place)
        np.divide(place, self._period, out=self._floor)
        np.floor(self._floor, out=self._floor)
        self._floor *= self._period
        place -= self._floor
        np.clip(place, 0.0, self._columns - 2.0, out=place)
        return self._gathered()

    def _gathered(self) -> Light:
        """The light at `_place`, in dots from the middle of the dark column before the words."""
        index, part, near, far = self._index, self._part, self._cover, self._next
        np.copyto(index, self._place, casting="unsafe")
        np.subtract(self._place, index, out=part, casting="unsafe")
        if self._softness < 1:
            part -= np.float32(0.5)
            part /= self._softness
            part += np.float32(0.5)
            np.clip(part, 0.0, 1.0, out=part)
        index += self._row
        np.take(self._dots, index, out=near, mode="clip")
        index += 1
        np.take(self._dots, index, out=far, mode="clip")
        far -= near
        far *= part
        near += far
        return self._light
