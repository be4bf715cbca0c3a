"""The feeds of a run, hanging below it: capacitor, wire, fuse, and the supply's terminals that they go to."""

from itertools import pairwise
from typing import Final

from schemdraw.elements import Capacitor, FuseIEC

from hub.wiring_sheets import metrics
from hub.wiring_sheets.canvas import SMALL_MM, Canvas
from hub.wiring_sheets.spread import spread
from hub.wiring_sheets.wiring import ChannelWiring, FeedWiring

ROOMY_BELOW: Final = 33.0
"""Room below the data line, for feeds drawn in full."""
_HALF_PAIR: Final = 1.8
_BLOCK: Final = 26.5
_CLOSEST: Final = 3.4
_ROOM_FOR_WIRES: Final = 6.6
_NAME_ROOM, _WIRE_ROOM = 29.5, 36.0
_ABOVE_NAMES: Final = metrics.RAIL + 9.6 + 1.8


def roomy_feeds(canvas: Canvas, channel: ChannelWiring, positive_y: float, negative_y: float) -> list[float]:
    """Feeds with both conductors each; where along the run they stand, mm."""
    low, high = metrics.RUN_LEFT + 4.0, metrics.RUN_RIGHT - 4.0
    drops = spread(_wanted(channel, low, high), _BLOCK, low, high)
    blocks = spread(drops, _BLOCK, metrics.RUN_LEFT + _BLOCK / 2 - 1.0, metrics.RUN_RIGHT - _BLOCK / 2 + 1.0)
    for feed, drop, block in zip(channel.feeds, drops, blocks, strict=True):
        _drop_in_full(canvas, feed, drop, positive_y, negative_y)
        _block(canvas, feed, block, negative_y)
    return drops


def compact_below(channel: ChannelWiring) -> float:
    """Room below the data line for many feeds."""
    return _ABOVE_NAMES + (_WIRE_ROOM if _tells_wires(_compact_places(channel)) else _NAME_ROOM) + 1.0


def compact_feeds(canvas: Canvas, channel: ChannelWiring, run_bottom_y: float) -> list[float]:
    """Many feeds, one line for the pair of conductors of each; where along the run they stand, mm."""
    drops = _compact_places(channel)
    for feed, drop in zip(channel.feeds, drops, strict=True):
        _drop_as_one_line(canvas, feed, drop, run_bottom_y, tells_wire=_tells_wires(drops))
    return drops


def _compact_places(channel: ChannelWiring) -> list[float]:
    low, high = metrics.RUN_LEFT + 2.5, metrics.RUN_RIGHT - 3.5
    return spread(_wanted(channel, low, high), _CLOSEST, low, high)


def _tells_wires(drops: list[float]) -> bool:
    """Whether there is room for a second line beside each feed."""
    return min(after - before for before, after in pairwise(drops)) >= _ROOM_FOR_WIRES


def _wanted(channel: ChannelWiring, low: float, high: float) -> list[float]:
    return [low + (high - low) * feed.at_pixel / max(channel.pixels - 1, 1) for feed in channel.feeds]


def _drop_in_full(canvas: Canvas, feed: FeedWiring, drop: float, positive_y: float, negative_y: float) -> None:
    plus, minus = drop - _HALF_PAIR, drop + _HALF_PAIR
    capacitor_y, fuse_top, fuse_bottom, end = (negative_y + down for down in (4.2, 7.6, 13.4, 15.6))
    canvas.dot((plus, positive_y))
    canvas.dot((minus, negative_y))
    canvas.wire((plus, positive_y), (plus, fuse_top))
    canvas.between(FuseIEC, (plus, fuse_top), (plus, fuse_bottom))
    canvas.wire((plus, fuse_bottom), (plus, end))
    canvas.wire((minus, negative_y), (minus, end))
    if feed.enters_section:
        canvas.between(Capacitor, (plus, capacitor_y), (minus, capacitor_y), body_mm=3.4)
        canvas.dot((plus, capacitor_y))
        canvas.dot((minus, capacitor_y))
    for terminal, sign, side in ((plus, "+", -1), (minus, "–", 1)):
        canvas.dot((terminal, end), open_=True)
        canvas.text(sign, terminal + side * 1.1, end + 0.8, bold=True, anchor="end" if side < 0 else "start")


def _block(canvas: Canvas, feed: FeedWiring, middle: float, negative_y: float) -> None:
    room = _BLOCK - 1.0
    top = negative_y + 20.6
    canvas.text(f"{feed.name} → {feed.supply_name}", middle, top, bold=True, anchor="middle", room_mm=room)
    canvas.text(f"at pixel {feed.at_pixel}", middle, top + 3.0, size_mm=SMALL_MM, anchor="middle", room_mm=room)
    canvas.text(f"{feed.wire}, {feed.length_m:g} m", middle, top + 5.8, size_mm=SMALL_MM, anchor="middle", room_mm=room)
    canvas.text(feed.fuse, middle, top + 8.6, size_mm=SMALL_MM, anchor="middle", room_mm=room)


def _drop_as_one_line(canvas: Canvas, feed: FeedWiring, drop: float, run_bottom_y: float, *, tells_wire: bool) -> None:
    fuse_top, fuse_bottom, end = (run_bottom_y + down for down in (4.0, 8.0, 9.6))
    canvas.wire((drop, run_bottom_y), (drop, fuse_top))
    canvas.wire((drop - 0.7, run_bottom_y + 2.4), (drop + 0.7, run_bottom_y + 1.2))
    canvas.wire((drop - 0.7, run_bottom_y + 3.2), (drop + 0.7, run_bottom_y + 2.0))
    canvas.between(FuseIEC, (drop, fuse_top), (drop, fuse_bottom), body_mm=3.2)
    canvas.wire((drop, fuse_bottom), (drop, end))
    canvas.dot((drop, end), open_=True)
    mark = " C" if feed.enters_section else ""
    words = [f"{feed.name} at pixel {feed.at_pixel}{mark} → {feed.supply_name}"]
    if tells_wire:
        words.append(f"{feed.wire}, {feed.length_m:g} m, {feed.fuse}")
    for place, line in enumerate(words):
        canvas.text(
            line,
            drop + 0.8 + 2.9 * place,
            end + 1.8,
            size_mm=SMALL_MM,
            anchor="end",
            upwards=True,
            room_mm=_WIRE_ROOM if tells_wire else _NAME_ROOM,
        )
