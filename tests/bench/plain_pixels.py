"""The board's work as plain loops over pixels: the benchmark's bare baseline."""

import math
from collections.abc import Sequence

from node_agent.render import PatternStatement
from schemas import DesiredZone, PixelType, Scene
from tests.bench.plain_colour import Colour, mixed
from tests.bench.plain_patterns import Place, light


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
    """Linear RGB of each pixel; every layer of the scene is over `zone`, with the blend "normal"."""
    frame: list[Colour] = []
    for place in places:
        red = green = blue = 0.0
        for layer in scene.layers:
            (r, g, b), cover = light(_statement(layer.pattern), zone.extent, place, show_time_s)
            cover *= layer.opacity
            if layer.mask:
                (mr, mg, mb), mask = light(_statement(layer.mask), zone.extent, place, show_time_s)
                cover *= mask * (0.2126 * mr + 0.7152 * mg + 0.0722 * mb)
            red, green, blue = red + cover * (r - red), green + cover * (g - green), blue + cover * (b - blue)
        frame.append((red, green, blue))
    return frame


def limit(frame: Sequence[Colour], kind: PixelType, budget_a: float) -> list[tuple[int, int, int]]:
    """Codes of a frame on one supply, scaled by the demand of this frame alone and rounded."""
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
    return [mixed(earlier, later, share) for earlier, later in zip(before, after, strict=True)]


def _statement(pattern: object) -> PatternStatement:
    if not isinstance(pattern, PatternStatement):
        raise TypeError("a pattern without a statement")
    return pattern
