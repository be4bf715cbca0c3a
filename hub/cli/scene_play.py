"""A scene running in the terminal: the front at night in half blocks, as the hub renders and limits it."""

import struct
import time
from collections.abc import Iterator
from contextlib import suppress
from functools import lru_cache
from itertools import groupby
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from rich.color import Color
from rich.console import Console, ConsoleOptions, RenderResult
from rich.live import Live
from rich.segment import Segment
from rich.style import Style

from hub.cli.client import HubClient, path_of
from hub.cli.printing import printable
from hub.scenes.elevation import Elevation, points_of
from hub.scenes.lights import Linear, srgb_codes
from hub.scenes.pictures.front import NightFront
from hub.scenes.pictures.view import NARROWEST_PX, WIDEST_PX
from node_agent.render.colour import linear_from_srgb

RATE_HZ: Final = 15
_LINES_BELOW: Final = 2
_FEWEST_COLUMNS: Final = 20
_HEAD: Final = struct.Struct("<IdI")
_LINEAR: Final = linear_from_srgb(np.arange(256) / 255.0).astype(np.float32)
_FINENESS: Final = 0xFC
"""Colours are drawn in steps of 4 of 255: no terminal's reader sees less, and styles are found again."""


class TerminalFront:
    """A front drawn for a terminal of a size; two of its points, one above the other, make a cell."""

    def __init__(self, points_m: NDArray[np.float64], columns: int, lines: int) -> None:
        wide = max(min(columns, WIDEST_PX // 2), _FEWEST_COLUMNS)
        shape = NightFront(points_m, NARROWEST_PX).view
        highest = shape.height_px / shape.width_px / 2
        wide = max(min(wide, int(lines / highest)), _FEWEST_COLUMNS)
        # Drawn larger and drawn together, so that lamps smaller than a cell keep their light.
        self._by = max(2, -(-NARROWEST_PX // wide))
        self._front = NightFront(points_m, wide * self._by)
        self._wide = wide
        self._high = self._front.view.height_px // (2 * self._by)

    def cells(self, light: Linear) -> NDArray[np.uint8]:
        """sRGB of the upper and lower half of each cell, shape (lines, columns, 2, 3)."""
        drawn = self._front.draw(light)[: self._high * 2 * self._by]
        parts = _LINEAR[drawn].reshape(self._high * 2, self._by, self._wide, self._by, 3)
        points = srgb_codes(parts.mean(axis=(1, 3)).astype(np.float32))
        return points.reshape(self._high, 2, self._wide, 3).swapaxes(1, 2)


class Playing:
    """What the terminal shows of one frame."""

    def __init__(self, cells: NDArray[np.uint8], caption: str) -> None:
        self._lines = (cells & _FINENESS).reshape(*cells.shape[:2], 6).tolist()
        self._caption = caption

    def __rich_console__(self, _console: Console, _options: ConsoleOptions) -> RenderResult:
        for line in self._lines:
            for colours, alike in groupby(line):
                yield Segment("▀" * sum(1 for _ in alike), _style(*colours))
            yield Segment.line()
        yield Segment(self._caption)


@lru_cache(maxsize=65_536)
def _style(red: int, green: int, blue: int, red_below: int, green_below: int, blue_below: int) -> Style:
    return Style(color=Color.from_rgb(red, green, blue), bgcolor=Color.from_rgb(red_below, green_below, blue_below))


def play(client: HubClient, console: Console, venue: str, scene: dict[str, Any], seconds: float | None) -> None:
    """Run `scene`, a scene's document, until `seconds` have passed or a person ends it."""
    ends_s = None if seconds is None else time.monotonic() + seconds
    caption = f"{printable(scene['title'])}: Ctrl-C ends"[: console.width - 1]
    with suppress(KeyboardInterrupt), Live(console=console, auto_refresh=False, vertical_overflow="crop") as live:
        while ends_s is None or time.monotonic() < ends_s:
            # Anew each time: the hub ends a stream after a while, and when the elevation is another.
            elevation = Elevation.model_validate(client.get(path_of("venues", venue, "elevation")))
            front = TerminalFront(points_of(elevation), console.width, console.height - _LINES_BELOW)
            path = path_of("venues", venue, "previews", "frames")
            with client.stream("POST", path, query={"rate_hz": RATE_HZ}, json=scene) as chunks:
                for shown in newest_frames(chunks):
                    if len(shown) != 3 * elevation.pixels:
                        break
                    light = _LINEAR[np.frombuffer(shown, np.uint8).reshape(-1, 3)]
                    live.update(Playing(front.cells(light), caption), refresh=True)
                    if ends_s is not None and time.monotonic() >= ends_s:
                        break


def newest_frames(chunks: Iterator[bytes]) -> Iterator[bytes]:
    """R, G, B of the newest whole record of what came in so far; a slow terminal skips those before it."""
    held = b""
    for chunk in chunks:
        held += chunk
        newest = None
        while len(held) >= _HEAD.size and len(held) >= 4 + (length := _HEAD.unpack_from(held)[0]):
            newest, held = held[_HEAD.size : 4 + length], held[4 + length :]
        if newest is not None:
            yield newest
