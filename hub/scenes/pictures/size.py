"""How large a picture may be: what it costs to draw, to hold and to send is bounded before it is begun."""

from typing import Final

from hub.errors import InvalidError, Mistake

MOST_INSTANTS: Final = 16
MOST_POINTS: Final = 24_000_000
"""Canvas points of all frames or rows together; they are held at 3 bytes each while the file is made."""
MOST_BYTES: Final = 32_000_000


def check_points(width_px: int, height_px: int, frames: int) -> None:
    """Raises InvalidError for more than MOST_POINTS."""
    if width_px * height_px * frames > MOST_POINTS:
        fitting = most_frames(width_px, height_px)
        raise too_large(f"{frames} frames of {width_px} × {height_px} are too many: {fitting} of that size may be made")


def most_frames(width_px: int, height_px: int) -> int:
    return MOST_POINTS // (width_px * height_px)


def check_bytes(picture: bytes) -> bytes:
    """The picture itself. Raises InvalidError for more than MOST_BYTES."""
    if len(picture) > MOST_BYTES:
        raise too_large(f"its file would have {len(picture)} bytes, more than {MOST_BYTES}")
    return picture


def too_large(reason: str) -> InvalidError:
    remedy = "ask for fewer seconds or instants, a lower rate, or a smaller width"
    return InvalidError("the picture would be too large", [Mistake("query.width_px", reason, remedy)])
