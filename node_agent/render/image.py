"""An image as a scene carries it: rows of sRGB bytes, packed with zlib, in base64. No image library needed to read it.

Everything about it is bounded before it is unpacked, so that nothing unfolds beyond what was stated.
"""

import base64
import binascii
import zlib
from typing import Final

import numpy as np
from numpy.typing import NDArray
from pydantic_core import PydanticCustomError

from node_agent.render.colour import linear_from_srgb

MAX_SIDE: Final = 128
MAX_POINTS: Final = 4_096
MAX_PACKED: Final = 16_640
"""Characters: what cannot be made smaller at all, 3 bytes a point, with what zlib and base64 add."""

_REMEDY: Final = "make it anew with `stringcourse scene picture FILE`"
_LINEAR_OF_CODE: Final = linear_from_srgb(np.arange(256) / 255.0).astype(np.float32)


def unpacked(packed: str, columns: int, rows: int) -> bytes:
    """Red, green, blue of each point, rows from top to bottom. Raises PydanticCustomError with reason and remedy."""
    size = columns * rows * 3
    try:
        unpacker = zlib.decompressobj()
        codes = unpacker.decompress(base64.b64decode(packed, validate=True), size + 1)
    except (ValueError, binascii.Error, zlib.error) as error:
        raise _refused("it is not an image in zlib and base64") from error
    if len(codes) > size or unpacker.unused_data:
        raise _refused(f"it holds more than {columns} columns x {rows} rows")
    if len(codes) < size or not unpacker.eof:
        raise _refused(f"it holds less than {columns} columns x {rows} rows")
    return codes


def packed_image(codes: bytes) -> str:
    """What `unpacked` reads."""
    return base64.b64encode(zlib.compress(codes, 9)).decode()


def linear_image(codes: bytes, columns: int, rows: int) -> NDArray[np.float32]:
    """Linear RGB, shape (3, rows, columns)."""
    points = np.frombuffer(codes, dtype=np.uint8).reshape(rows, columns, 3)
    return np.ascontiguousarray(_LINEAR_OF_CODE[points].transpose(2, 0, 1))


def _refused(reason: str) -> PydanticCustomError:
    return PydanticCustomError("picture", "{reason}", {"reason": reason, "remedy": _REMEDY})
