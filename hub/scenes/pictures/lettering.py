"""Words on pictures, in the typeface of everything we print."""

from functools import lru_cache
from io import BytesIO
from typing import Final

from PIL import ImageDraw, ImageFont

from hub.paper.typeface import Weight, fitted, font_bytes

INK: Final = (196, 192, 184)
SOFT_INK: Final = (136, 133, 128)


@lru_cache(maxsize=8)
def _font(size_px: int, weight: Weight) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(BytesIO(font_bytes(weight)), size_px)


def letter(
    pen: ImageDraw.ImageDraw,
    place: tuple[float, float],
    text: str,
    *,
    size_px: int,
    room_px: float,
    weight: Weight = Weight.REGULAR,
    ink: tuple[int, int, int] = INK,
) -> None:
    """One line whose base line begins at `place`, shortened to `room_px`. A text is anyone's: it stays one line."""
    line = " ".join(text.split())
    pen.text(place, fitted(line, room_px, size_px, weight), fill=ink, font=_font(size_px, weight), anchor="ls")


def show_time(at_s: float, window_s: float) -> str:
    """A show time, as finely as instants of the window need."""
    return f"{at_s:.2f} s" if window_s < 20 else f"{at_s:.1f} s"
