"""The one typeface of everything we print, bundled, so that a sheet looks the same on every machine.

Inter 3.19 (SIL Open Font License 1.1, its text beside the files), cut down to Latin, Greek, Cyrillic and our signs.
"""

import base64
import threading
from enum import StrEnum
from functools import cache, lru_cache
from importlib.resources import files
from typing import Final

from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont

FAMILY: Final = "Stringcourse Sheet"
FAMILY_STACK: Final = f"'{FAMILY}', sans-serif"
"""What the font lacks (other scripts in titles) is set in whatever the machine has."""
CAP_HEIGHT: Final = 0.727
"""Height of a capital, in parts of the type size."""
DESCENT: Final = 0.21
ELLIPSIS: Final = "…"
_reading = threading.Lock()  # fontTools unpacks a glyph at its first use, and not for two threads at once


class Weight(StrEnum):
    """The weights that are bundled."""

    REGULAR = "Regular"
    SEMIBOLD = "SemiBold"

    @property
    def css(self) -> int:
        return 400 if self is Weight.REGULAR else 600


@cache
def font_bytes(weight: Weight) -> bytes:
    """The font file, OpenType."""
    return (files("hub.paper") / "fonts" / f"Inter-{weight}.otf").read_bytes()


@cache
def font_face_css() -> str:
    """The font as rules for a page or drawing that stands alone."""
    return "\n".join(
        f"@font-face {{ font-family: '{FAMILY}'; font-weight: {weight.css}; font-style: normal; "
        f"src: url(data:font/otf;base64,{base64.b64encode(font_bytes(weight)).decode()}) format('opentype'); }}"
        for weight in Weight
    )


def text_width(text: str, size: float, weight: Weight = Weight.REGULAR) -> float:
    """Width of a line in the unit of `size`, without kerning."""
    advances, units = _metrics(weight)
    fallback = advances.get(ord("□"), units)
    return sum(advances.get(ord(character), fallback) for character in text) * size / units


def fitted(text: str, width: float, size: float, weight: Weight = Weight.REGULAR) -> str:
    """`text`, or as much of its beginning and end as `width` holds, around an ellipsis."""
    if text_width(text, size, weight) <= width:
        return text
    for kept in range(len(text) - 1, 0, -1):
        head, tail = text[: (kept + 1) // 2], text[len(text) - kept // 2 :]
        shorter = f"{head.rstrip()}{ELLIPSIS}{tail.lstrip()}"
        if text_width(shorter, size, weight) <= width:
            return shorter
    return ELLIPSIS


@lru_cache(maxsize=4_096)
def glyph_path(character: str, weight: Weight) -> str:
    """SVG path of a character at a type size of 1,000, its baseline at y = 0, y downwards; a square where unknown."""
    font = _font(weight)
    glyphs = font.getGlyphSet()
    cmap = font.getBestCmap()
    scale = 1_000 / font["head"].unitsPerEm
    pen = SVGPathPen(glyphs, ntos=lambda number: str(round(number)))
    with _reading:
        glyphs[cmap.get(ord(character), cmap[ord("□")])].draw(TransformPen(pen, (scale, 0, 0, -scale, 0, 0)))
    return str(pen.getCommands())


def advance(character: str, weight: Weight) -> float:
    """Width of a character at a type size of 1."""
    return text_width(character, 1.0, weight)


@cache
def _font(weight: Weight) -> TTFont:
    return TTFont(files("hub.paper") / "fonts" / f"Inter-{weight}.otf", lazy=False)


@cache
def _metrics(weight: Weight) -> tuple[dict[int, int], int]:
    font = _font(weight)
    widths = font["hmtx"]
    return {code: widths[name][0] for code, name in font.getBestCmap().items()}, font["head"].unitsPerEm
