"""A block: many rows of figures of one subject, packed small. Pure.

Figures are rounded to the steps of their columns and become whole numbers; each is stored as its difference to the row
before, differences of either sign as whole numbers from 0 (2n, or -2n - 1), all lowest bytes first, then the next
ones: what hardly changes is zeros, which zlib makes vanish.
"""

import struct
import zlib
from typing import Final

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]
Figures = NDArray[np.float64]

VERSION: Final = 1
_HEAD: Final = struct.Struct("<BBHI")  # version, parts, columns, rows
_LARGEST: Final = 2**29  # of a whole number, so that a difference fits 31 bits
_LEVEL: Final = 6


def pack(at: Whole, figures: Figures, steps: Figures) -> bytes:
    """Rows as bytes. `at`: (rows,) whole numbers from 0, in order; `figures`: (parts, rows, columns), NaN where not
    told; `steps`: (columns,). What exceeds 2²⁹ steps is cut off there."""
    parts, rows, columns = figures.shape
    missing = np.isnan(figures)
    whole = np.clip(np.rint(np.where(missing, 0.0, figures) / steps), -_LARGEST, _LARGEST)
    table = np.empty((1 + parts * columns, rows), dtype=np.int64)
    table[0] = at
    table[1:] = whole.transpose(0, 2, 1).reshape(-1, rows)
    table[:, 1:] -= table[:, :-1].copy()
    unsigned = ((table << 1) ^ (table >> 63)).astype("<u4")
    planes = unsigned.view(np.uint8).reshape(-1, 4).T
    mask = np.packbits(missing.transpose(0, 2, 1))
    return _HEAD.pack(VERSION, parts, columns, rows) + zlib.compress(planes.tobytes() + mask.tobytes(), _LEVEL)


def unpack(payload: bytes, steps: Figures) -> tuple[Whole, Figures]:
    """`at` and `figures` of a block; columns that came after it was packed are NaN. Raises ValueError when damaged."""
    try:
        version, parts, columns, rows = _HEAD.unpack_from(payload)
        if version != VERSION or columns > len(steps):
            raise ValueError(f"block of version {version} with {columns} columns cannot be read")
        cells = (1 + parts * columns) * rows
        size = 4 * cells + (parts * columns * rows + 7) // 8
        inflate = zlib.decompressobj()
        plain = inflate.decompress(payload[_HEAD.size :], size + 1)
    except (struct.error, zlib.error) as error:
        raise ValueError(f"damaged block: {error}") from error
    if len(plain) != size or not inflate.eof:
        raise ValueError(f"damaged block: {len(plain)} of {size} bytes")
    planes = np.frombuffer(plain, np.uint8, 4 * cells).reshape(4, cells)
    unsigned = np.ascontiguousarray(planes.T).view("<u4").astype(np.int64).reshape(-1, rows)
    table = np.cumsum((unsigned >> 1) ^ -(unsigned & 1), axis=1)
    figures = np.full((parts, rows, len(steps)), np.nan)
    told = table[1:].reshape(parts, columns, rows) * steps[:columns, None]
    missing = np.unpackbits(np.frombuffer(plain, np.uint8, offset=4 * cells), count=parts * columns * rows)
    told[missing.reshape(told.shape).astype(bool)] = np.nan
    figures[:, :, :columns] = told.transpose(0, 2, 1)
    return table[0], figures
