"""All runs of a network end to end, as arrays: what both ways of solving start from."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.electrical.network.elements import Ladder, Source

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
Flags = NDArray[np.bool_]

LEAST_OHM: Final = 1e-7
"""Conductors below it count as of it, output resistances below it as none: 100 A lose 10 µV there, and ohms of unlike
size would cost digits. A millimetre of two bars of 350 mm² has as much."""


@dataclass(frozen=True, slots=True, eq=False)
class Assembly:
    """Pixels of all runs are numbered through, and so are feeds and sections. Conductances are of the loop, siemens.

    first_pixel, first_feed: (ladders + 1,). step_siemens: (pixels,) to the next pixel, 0 at the end of a run.
    ladder_of, section_of: (pixels,). rail_whole: (pixels,) the positive rail goes on to the next pixel.
    """

    source_volts: Floats
    source_ohm: Floats
    first_pixel: Places
    first_feed: Places
    load_a: Floats
    minimum_v: Floats
    current_falls: Flags
    step_siemens: Floats
    rail_whole: Flags
    ladder_of: Places
    section_of: Places
    sections: int
    feed_source: Places
    feed_pixel: Places
    feed_siemens: Floats

    @property
    def pixels(self) -> int:
        return self.load_a.size


def assemble(sources: Sequence[Source], ladders: Sequence[Ladder]) -> Assembly:
    """Arrays of a network that `check_network` let pass."""
    pixels = np.array([ladder.load_a.size for ladder in ladders], dtype=np.intp)
    first_pixel = np.concatenate(([0], np.cumsum(pixels)))
    first_feed = np.concatenate(([0], np.cumsum([len(ladder.feeds) for ladder in ladders], dtype=np.intp)))
    feeds = [feed for ladder in ladders for feed in ladder.feeds]
    feed_pixel = np.array([feed.pixel for feed in feeds], dtype=np.intp)
    cuts = [first + cut for first, ladder in zip(first_pixel.tolist(), ladders, strict=False) for cut in ladder.cuts]
    starts_section = np.zeros(first_pixel[-1], dtype=np.bool_)
    starts_section[first_pixel[:-1]] = True
    starts_section[cuts] = True
    section_of = np.cumsum(starts_section) - 1
    step_siemens = np.repeat(_siemens([ladder.step_ohm for ladder in ladders]), pixels)
    step_siemens[first_pixel[1:] - 1] = 0.0
    source_ohm = np.array([source.output_ohm for source in sources], dtype=np.float64)
    return Assembly(
        source_volts=np.array([source.volts for source in sources], dtype=np.float64),
        source_ohm=np.where(source_ohm < LEAST_OHM, 0.0, source_ohm),
        first_pixel=first_pixel,
        first_feed=first_feed,
        load_a=np.concatenate([np.empty(0), *(ladder.load_a for ladder in ladders)]),
        minimum_v=np.repeat(np.array([ladder.minimum_v for ladder in ladders], dtype=np.float64), pixels),
        current_falls=np.repeat(np.array([ladder.current_falls for ladder in ladders], dtype=np.bool_), pixels),
        step_siemens=step_siemens,
        rail_whole=np.append(~starts_section[1:], False)[: first_pixel[-1]],
        ladder_of=np.repeat(np.arange(len(ladders)), pixels),
        section_of=section_of,
        sections=int(np.count_nonzero(starts_section)),
        feed_source=np.array([feed.source for feed in feeds], dtype=np.intp),
        feed_pixel=feed_pixel + np.repeat(first_pixel[:-1], np.diff(first_feed)),
        feed_siemens=_siemens([feed.loop_ohm for feed in feeds]),
    )


def _siemens(ohms: list[float]) -> Floats:
    return 1 / np.maximum(np.array(ohms, dtype=np.float64), LEAST_OHM)


def sums_by(place: Places, values: Floats, size: int) -> Floats:
    """(size,) the sum of `values` at each place."""
    return np.bincount(place, values, minlength=size).astype(np.float64, copy=False)
