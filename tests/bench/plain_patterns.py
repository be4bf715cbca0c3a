"""The light of each pattern at one pixel, from what it states: written apart from the product's code, so that agreement
of the two says something about both.
"""

import base64
import math
import zlib
from collections.abc import Callable
from functools import cache
from typing import Any

from node_agent.render import Along, PatternStatement
from node_agent.render.dot_letters import words_in_dots
from node_agent.render.patterns.bands import Bands
from node_agent.render.patterns.chance import PERIODS
from node_agent.render.patterns.chase import Chase
from node_agent.render.patterns.drift import Drift
from node_agent.render.patterns.ember import Ember
from node_agent.render.patterns.formula import Formula
from node_agent.render.patterns.gradient import Gradient
from node_agent.render.patterns.picture import Picture
from node_agent.render.patterns.pulse import Pulse
from node_agent.render.patterns.spot import Spot
from node_agent.render.patterns.sweep import Sweep
from node_agent.render.patterns.text import Text
from node_agent.render.patterns.twinkle import Twinkle
from node_agent.render.patterns.wash import Wash
from node_agent.render.patterns.wave import Wave
from schemas import Extent
from tests.bench.plain_chance import ONSETS, draw, noise
from tests.bench.plain_colour import Colour, between, linear, mixed, on_ramp

Place = tuple[float, float, float, int]  # s, x and y in metres from the zone's beginning; index in the zone
Lit = tuple[Colour, float]  # linear RGB, and how much of what lies below that covers


def light(pattern: PatternStatement, extent: Extent, place: Place, show_time_s: float) -> Lit:
    return _LIGHTS[type(pattern)](pattern, extent, place, show_time_s)


def _wash(pattern: Wash, _extent: Extent, _place: Place, _time_s: float) -> Lit:
    return linear(pattern.colour), 1.0


def _spot(pattern: Spot, _extent: Extent, place: Place, _time_s: float) -> Lit:
    hit = any(span.first <= place[3] < span.first + span.pixels for span in pattern.spans)
    return linear(pattern.colour), float(hit)


def _gradient(pattern: Gradient, extent: Extent, place: Place, _time_s: float) -> Lit:
    return on_ramp(pattern.stops, pattern.mix, _along(place, pattern.along) / _length_m(extent, pattern.along)), 1.0


def _chase(pattern: Chase, _extent: Extent, place: Place, time_s: float) -> Lit:
    travelled = _along(place, pattern.along) - pattern.speed_m_per_s * time_s
    behind = (pattern.length_m - travelled if pattern.speed_m_per_s >= 0 else travelled) % pattern.spacing_m
    if behind < pattern.length_m or pattern.tail_m == 0:
        return linear(pattern.colour), float(behind < pattern.length_m)
    return linear(pattern.colour), max(0.0, 1 - (behind - pattern.length_m) / pattern.tail_m)


def _wave(pattern: Wave, _extent: Extent, place: Place, time_s: float) -> Lit:
    turns = (_along(place, pattern.along) - pattern.speed_m_per_s * time_s) / pattern.wavelength_m
    return between(pattern.trough, pattern.crest, pattern.mix, 0.5 + 0.5 * math.sin(2 * math.pi * turns)), 1.0


def _twinkle(pattern: Twinkle, _extent: Extent, place: Place, time_s: float) -> Lit:
    periods = time_s / pattern.period_s + draw(place[3], pattern.seed, ONSETS)
    number, through = int(periods // 1), periods % 1
    glows = draw(place[3], pattern.seed, number % PERIODS) < pattern.share
    return linear(pattern.colour), math.sin(math.pi * through) ** 2 if glows else 0.0


def _pulse(pattern: Pulse, _extent: Extent, _place: Place, time_s: float) -> Lit:
    through_s = time_s % (pattern.rise_s + pattern.hold_s + pattern.fall_s + pattern.rest_s)
    falls_s = through_s - pattern.rise_s - pattern.hold_s
    if through_s < pattern.rise_s:
        height = through_s / pattern.rise_s
    elif falls_s < 0:
        height = 1.0
    else:
        height = 1 - falls_s / pattern.fall_s if falls_s < pattern.fall_s else 0.0
    return between(pattern.low, pattern.high, pattern.mix, _eased(height)), 1.0


def _sweep(pattern: Sweep, extent: Extent, place: Place, time_s: float) -> Lit:
    through_s = time_s % (2 * pattern.cross_s + pattern.hold_s + pattern.rest_s)
    came, went = through_s / pattern.cross_s, (through_s - pattern.cross_s - pattern.hold_s) / pattern.cross_s
    soft_m = max(pattern.soft_m, 0.001)
    way_m = _length_m(extent, pattern.along) + soft_m

    def passed(share: float) -> float:
        return _eased((min(max(share, 0.0), 1.0) * way_m - _along(place, pattern.along)) / soft_m)

    if went <= 0:
        return linear(pattern.colour), passed(came)
    return linear(pattern.colour), 1 - passed(went) if pattern.leaves == "onward" else passed(1 - went)


def _bands(pattern: Bands, _extent: Extent, place: Place, time_s: float) -> Lit:
    stripes = (_along(place, pattern.along) - pattern.speed_m_per_s * time_s) / pattern.width_m
    number, through = math.floor(stripes), stripes % 1
    soft = pattern.soft_m / pattern.width_m
    colours = pattern.colours
    this = colours[number % len(colours)]
    if through < soft / 2:
        return between(colours[(number - 1) % len(colours)], this, pattern.mix, 0.5 + through / soft), 1.0
    if through > 1 - soft / 2:
        return between(this, colours[(number + 1) % len(colours)], pattern.mix, 0.5 - (1 - through) / soft), 1.0
    return linear(this), 1.0


def _ember(pattern: Ember, extent: Extent, place: Place, time_s: float) -> Lit:
    height = _noise(pattern, extent, place, time_s, 0.4) ** 4
    return on_ramp(pattern.stops, pattern.mix, height), 1.0


def _drift(pattern: Drift, extent: Extent, place: Place, time_s: float) -> Lit:
    return on_ramp(pattern.stops, pattern.mix, _noise(pattern, extent, place, time_s, 0.0)), 1.0


def _noise(pattern: Ember | Drift, extent: Extent, place: Place, time_s: float, still: float) -> float:
    """Two steps of the lattice in a size, four in a period, over the whole elevation."""
    x_lattice, y_lattice = (
        part * 2 / pattern.size_m for part in (extent.x_min_m + place[1], extent.y_min_m + place[2])
    )
    return noise(x_lattice, y_lattice, time_s * 4 / pattern.period_s, pattern.seed, still)


def _picture(pattern: Picture, extent: Extent, place: Place, time_s: float) -> Lit:
    """Outer rows on the zone's edges, columns side by side; between their middles light is mixed."""
    width_m, height_m = _length_m(extent, "x"), _length_m(extent, "y")
    across = (place[1] - pattern.speed_m_per_s * time_s) / width_m % 1 * pattern.columns - 0.5
    below = (1 - place[2] / height_m) * (pattern.rows - 1)
    points = _points(pattern.image)

    def mixed_row(row: int) -> Colour:
        left = math.floor(across)
        colours = [points[row * pattern.columns + column % pattern.columns] for column in (left, left + 1)]
        return mixed(colours[0], colours[1], across - left)

    upper = math.floor(below)
    return mixed(mixed_row(upper), mixed_row(min(upper + 1, pattern.rows - 1)), below - upper), 1.0


@cache
def _points(image: str) -> list[Colour]:
    codes = zlib.decompress(base64.b64decode(image))
    return [linear(f"#{codes[at : at + 3].hex()}") for at in range(0, len(codes), 3)]


def _text(pattern: Text, extent: Extent, place: Place, time_s: float) -> Lit:
    """Running words on rows at the heights of the rows of dots; an edge is soft over the distance between pixels."""
    dots = _dots(pattern.words)
    height_m, width_m = _length_m(extent, "y"), _length_m(extent, "x")
    dot_m = height_m / (len(dots) - 1)
    round_m = len(dots[0]) * dot_m + width_m
    # The edge of the first dot, too, begins half a dot before it.
    column = (place[1] - pattern.speed_m_per_s * time_s + 0.5 * dot_m) % round_m / dot_m - 1
    soft = min(max(extent.length_m / extent.pixels / dot_m, 0.25), 1.0)
    row = (height_m - place[2]) / dot_m
    return linear(pattern.colour), _dot(dots, row, column, soft)


def _dot(dots: list[list[bool]], row: float, column: float, soft: float) -> float:
    """Light between the middles of four dots. Across edges are soft over `soft`, up and down over a quarter of a dot,
    at the nearest eighth."""

    def lit(row: int, column: int) -> float:
        return float(0 <= row < len(dots) and 0 <= column < len(dots[0]) and dots[row][column])

    row = round(row * 8) / 8
    left, upper = math.floor(column), math.floor(row)
    right_part = min(max((column - left - 0.5) / soft + 0.5, 0.0), 1.0)
    lower_part = min(max((row - upper - 0.5) / 0.25 + 0.5, 0.0), 1.0)
    above, below = (lit(at, left) + right_part * (lit(at, left + 1) - lit(at, left)) for at in (upper, upper + 1))
    return above + lower_part * (below - above)


@cache
def _dots(words: str) -> list[list[bool]]:
    dots: list[list[bool]] = words_in_dots(words).tolist()
    return dots


def _formula(pattern: Formula, _extent: Extent, place: Place, time_s: float) -> Lit:
    """The one formula of the benchmark, written out."""
    if pattern.formula != "0.5 + 0.5 * sin(2 * pi * (x / 2 - turn)) * cos(pi * y / 3)":
        raise ValueError("the baseline knows another formula")
    turn = time_s / pattern.period_s % 1
    value = 0.5 + 0.5 * math.sin(2 * math.pi * (place[1] / 2 - turn)) * math.cos(math.pi * place[2] / 3)
    return on_ramp(pattern.stops, pattern.mix, value), 1.0


def _along(place: Place, along: Along) -> float:
    return place["sxy".index(along)]


def _length_m(extent: Extent, along: Along) -> float:
    lengths_m = {"s": extent.length_m, "x": extent.x_max_m - extent.x_min_m, "y": extent.y_max_m - extent.y_min_m}
    return lengths_m[along]


def _eased(share: float) -> float:
    share = min(max(share, 0.0), 1.0)
    return share * share * (3 - 2 * share)


_LIGHTS: dict[type[PatternStatement], Callable[[Any, Extent, Place, float], Lit]] = {
    Wash: _wash,
    Spot: _spot,
    Gradient: _gradient,
    Chase: _chase,
    Wave: _wave,
    Twinkle: _twinkle,
    Pulse: _pulse,
    Sweep: _sweep,
    Bands: _bands,
    Ember: _ember,
    Drift: _drift,
    Picture: _picture,
    Text: _text,
    Formula: _formula,
}
