"""Volts along a run at the three levels, with its feeds and cuts on the axis. Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
import svg
from markupsafe import Markup
from numpy.typing import NDArray

from hub.audit.document.ink import FAINT, INK, MIDDLE, SIZE, WIDTH, chart, letters, round_steps, shape, stroke
from hub.audit.wiring_view import RunAudit
from hub.electrical.levels import Level
from hub.paper.typeface import text_width

Volts = NDArray[np.float64]

MOST_POINTS: Final = 200
"""Points of a line; between feeds and cuts it bends little from pixel to pixel."""

_LEFT: Final = 30.0
_RIGHT: Final = WIDTH - 8.0
_TOP: Final = 16.0
_BOTTOM: Final = 86.0
_FEED_LINE: Final = 7.5
_FEED_ROOM: Final = 10.0
_MOST_LINES: Final = 2


@dataclass(frozen=True, slots=True)
class _Line:
    name: str
    width: float
    dash: tuple[float, ...] | None = None
    colour: str = INK


# In the order of drawing: where the worst case is the budget's own level, its dashes lie on the broad line.
_LINES: Final = MappingProxyType(
    {
        Level.UNDER_BUDGET: _Line("under the budget", 2.6, colour=MIDDLE),
        Level.WORST_CASE: _Line("worst case, no budget", 0.9, (5.0, 2.5)),
        Level.TYPICAL: _Line("typical", 0.7),
    }
)
_MINIMUM_DASH: Final = (0.8, 1.8)


@dataclass(frozen=True, slots=True)
class _Scale:
    """From pixels and volts to places on the chart; volts below its foot lie on the foot."""

    pixels: int
    low_v: float
    high_v: float

    def x(self, pixel: float) -> float:
        return _LEFT + (pixel + 0.5) / self.pixels * (_RIGHT - _LEFT)

    def y(self, volts: float) -> float:
        return _BOTTOM - (max(volts, self.low_v) - self.low_v) / (self.high_v - self.low_v) * (_BOTTOM - _TOP)


def volts_chart(run: RunAudit, supply_volts: float, volts: Mapping[Level, Volts]) -> Markup:
    """`volts` by pixel, nan where no feed reaches; feeds bear the numbers of the feeds' table, from 1."""
    finite = np.concatenate([one[np.isfinite(one)] for one in volts.values()])
    scale = _scale(run, supply_volts, finite)
    title = f"Volts along {run.node} channel {run.channel} at three levels, against {run.minimum_v:g} V"
    feeds, lines = _feeds(run, scale)
    foot = _BOTTOM + 8 + _FEED_LINE * lines
    drawn = [*_axes(run, scale, foot), *_volts(run, scale, volts), *feeds, *_legend(run)]
    if (finite < 0).any():
        words = "a level below 0 V: the wiring cannot carry it"
        drawn.append(letters(WIDTH * 0.63, foot + 14.5, words, anchor="middle", bold=True))
    return chart(foot + 18, title, drawn)


def _scale(run: RunAudit, supply_volts: float, finite: Volts) -> _Scale:
    lowest = max(min(run.minimum_v, float(finite.min(initial=run.minimum_v))), 0.0)
    high = max(supply_volts, float(finite.max(initial=supply_volts)))
    margin = 0.06 * max(high - lowest, 0.1)
    return _Scale(run.pixels, max(lowest - margin, 0.0), high + margin)


def _axes(run: RunAudit, scale: _Scale, foot: float) -> Iterator[svg.Element]:
    for volts in round_steps(scale.low_v, scale.high_v, 5):
        y = scale.y(volts)
        yield stroke([(_LEFT, y), (_RIGHT, y)], width=0.4, colour=FAINT)
        yield letters(_LEFT - 3, y + 2.4, f"{volts:g} V", anchor="end", soft=True)
    last = run.pixels - 1
    for pixel in round_steps(0, last, max(min(last, 8), 1)):
        if pixel.is_integer():
            x = scale.x(pixel)
            yield stroke([(x, _BOTTOM), (x, _BOTTOM - 2.5)], width=0.5)
            yield letters(x, foot + 6, f"{pixel:g}", anchor="middle", soft=True)
    yield stroke([(_LEFT, _TOP), (_LEFT, _BOTTOM), (_RIGHT, _BOTTOM)], width=0.8)
    yield letters(_LEFT, foot + 14.5, "pixel, counted from the end where the data line enters", soft=True)
    yield letters(_RIGHT, foot + 14.5, f"{run.pixels} pixels, {run.length_m:.4g} m", anchor="end", soft=True)


def _volts(run: RunAudit, scale: _Scale, volts: Mapping[Level, Volts]) -> Iterator[svg.Element]:
    y = scale.y(run.minimum_v)
    yield stroke([(_LEFT, y), (_RIGHT, y)], width=1.1, dash=_MINIMUM_DASH)
    for cut in run.positive_cut_before:
        yield from _cut(scale.x(cut - 0.5))
    for level, line in _LINES.items():
        for points in _pieces(run, scale, volts[level]):
            yield stroke(points, width=line.width, dash=line.dash, colour=line.colour)


def _pieces(run: RunAudit, scale: _Scale, volts: Volts) -> Iterator[list[tuple[float, float]]]:
    """The line's points, parted at cuts and where no feed reaches."""
    feeds = np.array([feed.at_pixel for feed in run.feeds], dtype=np.intp)
    cuts = np.array(run.positive_cut_before, dtype=np.intp)
    even = np.linspace(0, run.pixels - 1, MOST_POINTS).astype(np.intp)
    lowest = [int(np.nanargmin(volts))] if np.isfinite(volts).any() else []
    shown = np.unique(np.concatenate([even, feeds, cuts, cuts - 1, np.array(lowest, dtype=np.intp)]))
    shown = shown[np.isfinite(volts[shown])]
    sections = np.searchsorted(np.sort(cuts), shown, side="right")
    for section in np.unique(sections):
        pixels = shown[sections == section].tolist()
        # Half a pixel each way, so that a section of one pixel is seen.
        ends = (pixels[0] - 0.4, *pixels, pixels[-1] + 0.4)
        yield [(scale.x(at), scale.y(float(volts[round(at)]))) for at in ends]


def _feeds(run: RunAudit, scale: _Scale) -> tuple[list[svg.Element], int]:
    """A triangle for each feed, its number below it, and how many lines of numbers that takes.

    A number that has room in neither of two lines stands in the table only.
    """
    drawn: list[svg.Element] = []
    taken: list[float] = []
    for number, feed in sorted(enumerate(run.feeds, start=1), key=lambda numbered: numbered[1].at_pixel):
        x = scale.x(feed.at_pixel)
        drawn.append(shape([(x, _BOTTOM + 1), (x - 3, _BOTTOM + 7), (x + 3, _BOTTOM + 7)]))
        line = next((one for one, last in enumerate(taken) if x - last >= _FEED_ROOM), len(taken))
        if line < _MOST_LINES:
            taken[line:] = [x, *taken[line + 1 :]]
            drawn.append(letters(x, _BOTTOM + 14 + _FEED_LINE * line, number, anchor="middle", bold=True))
    return drawn, max(len(taken), 1)


def _cut(x: float) -> Iterator[svg.Element]:
    yield stroke([(x, _TOP), (x, _BOTTOM)], width=0.6, dash=(6, 2, 1, 2))
    for aside in (-1.5, 1.5):
        yield stroke([(x + aside - 2, _BOTTOM + 4), (x + aside + 2, _BOTTOM - 4)], width=1.0)


def _legend(run: RunAudit) -> Iterator[svg.Element]:
    x = _LEFT
    for line in (*_LINES.values(), _Line(f"lowest working {run.minimum_v:g} V", 1.1, _MINIMUM_DASH)):
        yield stroke([(x, 6), (x + 20, 6)], width=line.width, dash=line.dash, colour=line.colour)
        yield letters(x + 23, 8.4, line.name)
        x += 23 + text_width(line.name, SIZE) + 12
    yield shape([(x + 3, 3), (x, 9), (x + 6, 9)])
    yield letters(x + 9, 8.4, "feed")
    x += 9 + text_width("feed", SIZE) + 12
    if run.positive_cut_before:
        for aside in (0.0, 3.0):
            yield stroke([(x + aside, 10), (x + aside + 4, 2)], width=1.0)
        yield letters(x + 10, 8.4, "positive rail cut")
