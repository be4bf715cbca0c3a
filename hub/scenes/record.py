"""A record of a stream of frames, as pages read it."""

import struct
from typing import Final

_HEAD: Final = struct.Struct("<IdI")
_LENGTH_BYTES: Final = 4
_MAX_U32: Final = 2**32 - 1


def frame_record(shown: bytes, show_s: float, revision: int) -> bytes:
    """Little-endian: uint32 length of the rest, float64 show time in seconds, uint32 revision (0 where nothing is in
    force), then `shown`: R, G, B of every pixel of the elevation, sRGB-encoded."""
    return _HEAD.pack(_HEAD.size - _LENGTH_BYTES + len(shown), show_s, min(revision, _MAX_U32)) + shown
