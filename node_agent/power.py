"""Amps that a node's pixels draw from each supply: an estimate from 8-bit codes and the pixel type's currents.

Current is taken as linear in the code, as pulse width is: idle + Σ code / 255 × full-scale current of the emitter.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from node_agent.render import channel_slices
from schemas import DesiredBody, DesiredChannel, Feed

NO_FEED: Final = "no-feed"
"""Stands for whatever a run without any feed hangs on, such as the board's own pin."""

EMITTERS: Final = "RGBW"
"""The order of the columns of codes, whatever the order on the wire."""


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Neighbouring pixels of one channel whose nearest feed belongs to one supply."""

    start: int
    pixels: int
    supply: str
    channel: DesiredChannel


class PowerModel:
    """Estimates of one node's draw; every answer has the shape (supplies,), in amps and the order of `supplies`.

    A pixel is counted to the supply of its nearest feed, see `feed_of_pixel`. Raises PlacementError where two channels
    have one number.
    """

    supplies: tuple[str, ...]
    supply_of_pixel: NDArray[np.intp]

    def __init__(self, body: DesiredBody) -> None:
        stretches = tuple(_stretches(body))
        feeds = (feed.supply for channel in body.channels for feed in channel.feeds)
        self.supplies = tuple(dict.fromkeys([*(stretch.supply for stretch in stretches), *feeds]))
        place = {supply: number for number, supply in enumerate(self.supplies)}
        pixels = np.array([stretch.pixels for stretch in stretches], dtype=np.intp)
        self._starts = np.array([stretch.start for stretch in stretches], dtype=np.intp)
        self._supply_of_stretch = np.array([place[stretch.supply] for stretch in stretches], dtype=np.intp)
        self.supply_of_pixel = np.repeat(self._supply_of_stretch, pixels)
        types = [stretch.channel.pixel_type for stretch in stretches]
        self._code_a = np.array([_code_ma(stretch.channel) for stretch in stretches]).reshape(-1, 4).T * 1e-3
        self._idle_a = self._by_supply(pixels * [kind.idle_ma for kind in types] * 1e-3)
        self._worst_case_a = self._by_supply(pixels * [kind.full_pixel_ma for kind in types] * 1e-3)
        self._typical_a = self._by_supply(pixels * [kind.typical_ma for kind in types] * 1e-3)

    def worst_case_a(self) -> NDArray[np.float64]:
        """Every emitter at full scale."""
        return self._worst_case_a.copy()

    def typical_a(self) -> NDArray[np.float64]:
        """The trade's rule of thumb, pixel by pixel type."""
        return self._typical_a.copy()

    def idle_a(self) -> NDArray[np.float64]:
        """All pixels dark: what their electronics draw."""
        return self._idle_a.copy()

    def amps(self, codes: NDArray[np.uint8]) -> NDArray[np.float64]:
        """The draw of `codes`, shape (pixels, 4): red, green, blue, white. Sums are of integers, so exact."""
        return self._idle_a + self.lit_a(codes)

    def lit_a(self, codes: NDArray[np.uint8]) -> NDArray[np.float64]:
        """The draw of `codes` above idle."""
        if self._starts.size == 0:
            return np.zeros(len(self.supplies))
        sums = np.add.reduceat(codes.T, self._starts, axis=1, dtype=np.uint32)
        return self._by_supply((sums * self._code_a).sum(axis=0))

    def _by_supply(self, of_stretches: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.bincount(self._supply_of_stretch, weights=of_stretches, minlength=len(self.supplies)).astype(
            np.float64
        )


def _code_ma(channel: DesiredChannel) -> tuple[float, float, float, float]:
    """Current of one step of the code of each emitter, mA."""
    full = channel.pixel_type.full_ma
    white = full.white if "W" in channel.pixel_type.colour_order else 0.0
    return full.red / 255, full.green / 255, full.blue / 255, white / 255


def _stretches(body: DesiredBody) -> Iterator[_Stretch]:
    slices = channel_slices(body)
    for channel in sorted(body.channels, key=lambda channel: channel.number):
        start = slices[channel.number].start
        nearest = feed_of_pixel(channel.feeds, channel.positive_cut_before, channel.pixels)
        supplies = np.array([*(feed.supply for feed in channel.feeds), NO_FEED])[nearest]
        begins = np.append(0, np.flatnonzero(supplies[1:] != supplies[:-1]) + 1)
        for begin, end in zip(begins, np.append(begins[1:], channel.pixels), strict=True):
            yield _Stretch(start + int(begin), int(end - begin), str(supplies[begin]), channel)


def feed_of_pixel(feeds: Sequence[Feed], positive_cut_before: Sequence[int], pixels: int) -> NDArray[np.intp]:
    """Index in `feeds` of each pixel's nearest feed, shape (pixels,); -1 where its side of the cuts has none.

    Of two feeds equally near, the one listed first.
    """
    index = np.arange(pixels)
    places = np.array([feed.at_pixel for feed in feeds], dtype=np.intp)
    if not places.size:
        return np.full(pixels, -1, dtype=np.intp)
    cuts = np.sort(np.array(positive_cut_before, dtype=np.intp))
    distance = np.abs(index[:, None] - places[None, :])
    if cuts.size:
        joined = np.searchsorted(cuts, index, "right")[:, None] == np.searchsorted(cuts, places, "right")[None, :]
        distance = np.where(joined, distance, pixels)
    nearest: NDArray[np.intp] = distance.argmin(axis=1)
    nearest[distance[index, nearest] == pixels] = -1
    return nearest
