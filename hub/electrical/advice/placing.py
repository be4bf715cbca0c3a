"""Where to feed a stretch of like pixels, and a proof that fewer feeds cannot do.

A section of n like pixels of current i, r ohms from pixel to pixel, k feeds of R ohms at equal volts. By Kirchhoff's
laws each feed supplies the pixels around it, so one of them supplies n/k or more and has (n/k − 1)/2 or more of them on
one side. Wherever the feeds are, some pixel therefore loses at least

    R·i·n/k + r·i·s((n/k − 1)/2),   s(a) = a + (a − 1) + (a − 2) + … while positive.

This bound proves that fewer feeds cannot do; between it and the places found, short sections are tried in full.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.electrical.network import FeedWire, Ladder, Source, solve_network
from schemas.bounds import MAX_FEEDS_PER_RUN

Volts = NDArray[np.float64]
_ROUNDS: Final = 30
_MOST_TRIED: Final = 500_000
"""Pixels in all choices together."""


@dataclass(frozen=True, slots=True)
class Section:
    """A stretch of like pixels between cuts of the positive rail, to be fed by like feeds from one supply."""

    first: int
    pixels: int
    pixel_a: float
    step_ohm: float
    supply: str
    source: Source
    feed_ohm: float
    minimum_v: float

    @property
    def spare_v(self) -> float:
        """Volts that may be lost between the supply's terminals and the worst pixel."""
        return self.source.volts - self.source.output_ohm * self.pixel_a * self.pixels - self.minimum_v

    def least_loss_v(self, feeds: int) -> float:
        """What the worst pixel loses at the least, wherever that many feeds are."""
        share = self.pixels / feeds
        aside = max((share - 1) / 2, 0.0)
        steps = math.ceil(aside)
        along = steps * aside - steps * (steps - 1) / 2
        return self.pixel_a * (self.feed_ohm * share + self.step_ohm * along)

    def volts(self, places: Sequence[Sequence[int]]) -> list[Volts]:
        """Volts at every pixel for each set of places, each solved by itself."""
        ladders = [
            Ladder(
                load_a=np.full(self.pixels, self.pixel_a),
                step_ohm=self.step_ohm,
                feeds=tuple(FeedWire(number, place, self.feed_ohm) for place in one),
            )
            for number, one in enumerate(places)
        ]
        return [run.volts for run in solve_network([self.source] * len(ladders), ladders).ladders]

    def holds(self, volts: Volts) -> bool:
        return bool(volts.min() >= self.minimum_v - 1e-9)


@dataclass(frozen=True, slots=True)
class Placed:
    """A section with the places that were found, or without where none serve."""

    section: Section
    places: tuple[int, ...] | None
    text: str


def place_feeds(section: Section) -> Placed:
    if section.spare_v < 0:
        return Placed(
            section, None, f"Supply {section.supply} itself stands below {section.minimum_v:g} V under this load."
        )
    most = min(MAX_FEEDS_PER_RUN, section.pixels)
    missed: float | None = None
    for feeds in range(1, most + 1):
        if section.least_loss_v(feeds) > section.spare_v + 1e-9:
            continue
        places, volts = best_places(section, feeds)
        if not section.holds(volts):
            places, volts = tried_places(section, feeds) or (places, volts)
        if section.holds(volts):
            return Placed(section, places, _one_less(section, feeds, missed))
        missed = float(volts.min())
    loss_v = section.least_loss_v(most)
    return Placed(
        section,
        None,
        f"With {most} feeds the worst pixel still loses {loss_v:.3g} V or more of {section.spare_v:.3g} V.",
    )


def best_places(section: Section, feeds: int) -> tuple[tuple[int, ...], Volts]:
    """Places of so many feeds with the lowest pixel as high as could be found, and the volts at every pixel.

    Each feed starts in the middle of its equal share; then single feeds, or all from one feed on, move while that lifts
    the lowest pixel.
    """
    edges = [place * section.pixels // feeds for place in range(feeds + 1)]
    best = tuple((first + end - 1) // 2 for first, end in itertools.pairwise(edges))
    volts = section.volts([best])[0]
    for _round in range(_ROUNDS):
        if section.holds(volts):
            break
        moved = [_moved(best, feed, feed + 1, by) for feed in range(feeds) for by in (-4, -2, -1, 1, 2, 4)]
        moved += [_moved(best, feed, feeds, by) for feed in range(feeds - 1) for by in (-1, 1)]
        fitting = [one for one in moved if one[0] >= 0 and one[-1] < section.pixels and len(set(one)) == feeds]
        if not fitting:
            break
        tried = section.volts(fitting)
        highest = max(range(len(fitting)), key=lambda number: float(tried[number].min()))
        if tried[highest].min() <= volts.min() + 1e-12:
            break
        best, volts = fitting[highest], tried[highest]
    return best, volts


def tried_places(section: Section, feeds: int) -> tuple[tuple[int, ...], Volts] | None:
    """The best of all choices of places; None where those are too many to try."""
    if math.comb(section.pixels, feeds) * section.pixels > _MOST_TRIED:
        return None
    choices = list(itertools.combinations(range(section.pixels), feeds))
    return max(zip(choices, section.volts(choices), strict=True), key=lambda tried: float(tried[1].min()))


def _moved(places: tuple[int, ...], first: int, end: int, by: int) -> tuple[int, ...]:
    """`places` with those from `first` up to `end` moved by so many pixels."""
    return tuple(sorted(place + by if first <= number < end else place for number, place in enumerate(places)))


def _one_less(section: Section, feeds: int, missed: float | None) -> str:
    if feeds == 1:
        return "One feed is the fewest."
    if missed is not None and math.comb(section.pixels, feeds - 1) * section.pixels <= _MOST_TRIED:
        return f"With {feeds - 1} every choice of places was tried: the best leaves {missed:.4g} V, not enough."
    if missed is not None:
        return (
            f"With {feeds - 1} the best places found leave {missed:.4g} V: not enough, though no proof excludes others."
        )
    return (
        f"With {feeds - 1}, wherever they are, the worst pixel loses {section.least_loss_v(feeds - 1):.4g} V or more; "
        f"{section.spare_v:.4g} V are to spare."
    )
