"""The renderer's work as plain loops over pixels, from the patterns' descriptions: the benchmark's bare baseline.

Written apart from the product's code, so that agreement of the two says something about both.
"""

import itertools
import math
from collections.abc import Sequence

from node_agent.render import Along
from node_agent.render.patterns.chance import PERIODS
from node_agent.render.patterns.chase import Chase
from node_agent.render.patterns.gradient import Gradient
from node_agent.render.patterns.spot import Spot
from node_agent.render.patterns.twinkle import Twinkle
from node_agent.render.patterns.wash import Wash
from node_agent.render.patterns.wave import Wave
from schemas import DesiredZone, PixelType, Scene
from schemas.pattern import Pattern

Colour = tuple[float, float, float]
Place = tuple[float, float, float, int]  # s, x and y in metres from the zone's beginning; index in the zone

_MASK = 2**64 - 1
_GOLDEN = 0x9E3779B97F4A7C15


def places_of(zone: DesiredZone) -> list[Place]:
    """Pixels of a zone whose spans are straight, in the order of the spans."""
    places: list[Place] = []
    for span in zone.spans:
        (x0, y0), (x1, y1) = span.path
        length_m = math.hypot(x1 - x0, y1 - y0)
        for number in range(span.pixels):
            share = (number + 0.5) / span.pixels
            x_m, y_m = x0 + share * (x1 - x0) - zone.extent.x_min_m, y0 + share * (y1 - y0) - zone.extent.y_min_m
            places.append((span.start_m + share * length_m, x_m, y_m, span.start_index + number))
    return places


def render(scene: Scene, zone: DesiredZone, places: Sequence[Place], show_time_s: float) -> list[Colour]:
    """Linear RGB of each pixel; every layer of the scene is over `zone`."""
    frame: list[Colour] = []
    for place in places:
        red = green = blue = 0.0
        for layer in scene.layers:
            (r, g, b), cover = light(layer.pattern, zone, place, show_time_s)
            cover *= layer.opacity
            red, green, blue = red + cover * (r - red), green + cover * (g - green), blue + cover * (b - blue)
        frame.append((red, green, blue))
    return frame


def light(pattern: Pattern, zone: DesiredZone, place: Place, show_time_s: float) -> tuple[Colour, float]:
    match pattern:
        case Wash():
            return linear(pattern.colour), 1.0
        case Spot():
            hit = any(span.first <= place[3] < span.first + span.pixels for span in pattern.spans)
            return linear(pattern.colour), float(hit)
        case Gradient():
            return _gradient(pattern, _along(place, pattern.along) / zone.extent.length_m), 1.0
        case Chase():
            travelled = _along(place, pattern.along) - pattern.speed_m_per_s * show_time_s
            behind = (pattern.length_m - travelled if pattern.speed_m_per_s >= 0 else travelled) % pattern.spacing_m
            if behind < pattern.length_m or pattern.tail_m == 0:
                return linear(pattern.colour), float(behind < pattern.length_m)
            return linear(pattern.colour), max(0.0, 1 - (behind - pattern.length_m) / pattern.tail_m)
        case Wave():
            turns = (_along(place, pattern.along) - pattern.speed_m_per_s * show_time_s) / pattern.wavelength_m
            height = 0.5 + 0.5 * math.sin(2 * math.pi * turns)
            return _mixed(linear(pattern.trough), linear(pattern.crest), height), 1.0
        case Twinkle():
            key = _draw(place[3] * _GOLDEN & _MASK ^ _draw(pattern.seed))
            periods = show_time_s / pattern.period_s + _unit(_draw(key + _draw(_MASK)))
            number, through = int(periods // 1), periods % 1
            glows = _unit(_draw(key + _draw(number % PERIODS))) < pattern.share
            return linear(pattern.colour), math.sin(math.pi * through) ** 2 if glows else 0.0
        case _:
            raise TypeError(f"the baseline knows no {pattern.pattern}")


def limit(frame: Sequence[Colour], kind: PixelType, budget_a: float) -> list[tuple[int, int, int]]:
    """Codes of a frame on one supply, scaled by the demand of this frame alone."""
    full = kind.full_ma
    idle_a = len(frame) * kind.idle_ma / 1000
    demand_a = sum(r * full.red + g * full.green + b * full.blue for r, g, b in frame) / 1000
    scale = min(1.0, (budget_a - idle_a) / demand_a) if demand_a else 1.0
    return [(int(r * scale * 255 + 0.5), int(g * scale * 255 + 0.5), int(b * scale * 255 + 0.5)) for r, g, b in frame]


def encode(codes: Sequence[tuple[int, int, int]], zero: str, one: str) -> bytes:
    """Bytes of the bit stream, green first, without lead or reset; `zero` and `one` are symbols in binary digits."""
    digits: list[str] = []
    for red, green, blue in codes:
        for code in (green, red, blue):
            digits.extend(one if code >> bit & 1 else zero for bit in range(7, -1, -1))
    text = "".join(digits)
    return int(text, 2).to_bytes(len(text) // 8, "big")


def crossfade(before: Sequence[Colour], after: Sequence[Colour], share: float) -> list[Colour]:
    return [_mixed(earlier, later, share) for earlier, later in zip(before, after, strict=True)]


def linear(hex_colour: object) -> Colour:
    if not isinstance(hex_colour, str):
        raise TypeError("the baseline reads sRGB in hex")
    red, green, blue = (_transfer(int(hex_colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return red, green, blue


def _transfer(encoded: float) -> float:
    return encoded / 12.92 if encoded <= 0.04045 else ((encoded + 0.055) / 1.055) ** 2.4


def _along(place: Place, along: Along) -> float:
    return place["sxy".index(along)]


def _mixed(from_colour: Colour, to_colour: Colour, share: float) -> Colour:
    (r0, g0, b0), (r1, g1, b1) = from_colour, to_colour
    return r0 + share * (r1 - r0), g0 + share * (g1 - g0), b0 + share * (b1 - b0)


def _gradient(pattern: Gradient, share: float) -> Colour:
    stops = pattern.stops
    if share <= stops[0].at:
        return linear(stops[0].colour)
    for earlier, later in itertools.pairwise(stops):
        if share <= later.at:
            place = (share - earlier.at) / (later.at - earlier.at)
            return _mixed(linear(earlier.colour), linear(later.colour), place)
    return linear(stops[-1].colour)


def _draw(value: int) -> int:
    value = value + _GOLDEN & _MASK
    value = (value ^ value >> 30) * 0xBF58476D1CE4E5B9 & _MASK
    value = (value ^ value >> 27) * 0x94D049BB133111EB & _MASK
    return value ^ value >> 31


def _unit(draw: int) -> float:
    return (draw >> 11) * 2.0**-53
