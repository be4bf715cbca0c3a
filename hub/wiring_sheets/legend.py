"""The legend: every symbol on the drawing, and where it comes from."""

from collections.abc import Callable
from typing import Final

from schemdraw.elements import Capacitor, FuseIEC, ResistorIEC

from hub.wiring_sheets.canvas import FINE_PT, HEAVY_PT, SMALL_MM, Box, Canvas

_COLUMNS: Final = 4
_COLUMN: Final = 46.5
_LINE: Final = 6.4
_SYMBOL: Final = 9.0
_Draw = Callable[[Canvas, float, float], None]


def draw_legend(canvas: Canvas, top: float, *, in_full: bool, in_brief: bool, may_shift: bool) -> float:
    """The legend from `top` down; its lower end. `in_full`, `in_brief`: the two ways in which runs are drawn.

    `may_shift`: some level shifter is drawn dashed.
    """
    items: list[tuple[_Draw, str]] = [
        (_terminal, "terminal"),
        (_connection, "connection"),
        (_fuse, "fuse, in the positive wire"),
        (_resistor, "resistor in the data line"),
        (_capacitor, "capacitor, its + to the +" if in_full else "capacitor (C), its + to the +"),
        (_converter, "level shifter; AC/DC supply"),
        (_direction, "direction of data"),
        (_board, "board *"),
        (_mains, "mains side, closed *"),
    ]
    if in_full:
        items += [(_run, "run: pixels between rails *"), (_cut, "positive rail cut *")]
    if in_brief:
        items += [
            (_bar, "run, drawn as one bar *"),
            (_pair, "two conductors, as one line"),
            (_cut_of_bar, "positive rail cut *"),
        ]
    if may_shift:
        items.append((_dashed_converter, "level shifter, by data sheet"))
    canvas.wire((0.5, top), (canvas.width_mm - 0.5, top), weight_pt=FINE_PT)
    for place, (draw, words) in enumerate(items):
        left = 1.0 + place % _COLUMNS * _COLUMN
        middle = top + 4.0 + place // _COLUMNS * _LINE
        draw(canvas, left, middle)
        canvas.text(words, left + _SYMBOL + 2.0, middle + 0.7, size_mm=SMALL_MM, room_mm=_COLUMN - _SYMBOL - 3.0)
    bottom = top + 4.0 + ((len(items) - 1) // _COLUMNS + 1) * _LINE
    canvas.text(
        "Not to scale. Symbols after IEC 60617, from memory; those marked * are our own. "
        "F1.2: second feed of run 1, with its fuse.",
        1.0,
        bottom,
        size_mm=SMALL_MM,
        room_mm=canvas.width_mm - 2.0,
    )
    return bottom + 1.5


def _terminal(canvas: Canvas, left: float, middle: float) -> None:
    canvas.wire((left, middle), (left + _SYMBOL / 2, middle))
    canvas.dot((left + _SYMBOL / 2, middle), open_=True)


def _connection(canvas: Canvas, left: float, middle: float) -> None:
    canvas.wire((left, middle), (left + _SYMBOL, middle))
    canvas.wire((left + _SYMBOL / 2, middle), (left + _SYMBOL / 2, middle + 2.0))
    canvas.dot((left + _SYMBOL / 2, middle))


def _fuse(canvas: Canvas, left: float, middle: float) -> None:
    canvas.between(FuseIEC, (left, middle), (left + _SYMBOL, middle))


def _resistor(canvas: Canvas, left: float, middle: float) -> None:
    canvas.between(ResistorIEC, (left, middle), (left + _SYMBOL, middle))


def _capacitor(canvas: Canvas, left: float, middle: float) -> None:
    canvas.between(Capacitor, (left, middle), (left + _SYMBOL, middle))


def _converter(canvas: Canvas, left: float, middle: float, *, dashed: bool = False) -> None:
    area = Box(left + 2.2, middle - 2.3, left + 6.8, middle + 2.3)
    canvas.box(area, dashed=dashed)
    canvas.wire((area.left, area.bottom), (area.right, area.top), weight_pt=FINE_PT)


def _dashed_converter(canvas: Canvas, left: float, middle: float) -> None:
    _converter(canvas, left, middle, dashed=True)


def _direction(canvas: Canvas, left: float, middle: float) -> None:
    canvas.wire((left, middle), (left + _SYMBOL, middle), arrow=True)


def _board(canvas: Canvas, left: float, middle: float) -> None:
    canvas.box(Box(left, middle - 2.2, left + _SYMBOL - 2.0, middle + 2.2), weight_pt=HEAVY_PT)
    canvas.dot((left + _SYMBOL - 2.0, middle), open_=True)


def _mains(canvas: Canvas, left: float, middle: float) -> None:
    canvas.box(Box(left + 1.0, middle - 2.0, left + 8.0, middle + 2.0), weight_pt=HEAVY_PT)


def _run(canvas: Canvas, left: float, middle: float) -> None:
    for rail in (-1.9, 1.9):
        canvas.wire((left, middle + rail), (left + _SYMBOL, middle + rail), weight_pt=HEAVY_PT)
    for x in (left + 2.0, left + 6.5):
        canvas.box(Box(x - 0.9, middle - 0.9, x + 0.9, middle + 0.9), weight_pt=FINE_PT)


def _cut(canvas: Canvas, left: float, middle: float) -> None:
    for start, end, bar in ((left, left + 3.6, left + 3.6), (left + 5.4, left + _SYMBOL, left + 5.4)):
        canvas.wire((start, middle), (end, middle), weight_pt=HEAVY_PT)
        canvas.wire((bar, middle - 1.0), (bar, middle + 1.0))


def _bar(canvas: Canvas, left: float, middle: float) -> None:
    canvas.box(Box(left, middle - 1.8, left + _SYMBOL, middle + 1.8), weight_pt=HEAVY_PT)
    canvas.wire((left + 1.0, middle), (left + _SYMBOL - 1.0, middle), arrow=True, weight_pt=FINE_PT)


def _pair(canvas: Canvas, left: float, middle: float) -> None:
    canvas.wire((left, middle), (left + _SYMBOL, middle))
    for x in (left + 3.6, left + 4.5):
        canvas.wire((x, middle + 0.9), (x + 0.9, middle - 0.9))


def _cut_of_bar(canvas: Canvas, left: float, middle: float) -> None:
    for x in (left + 3.6, left + 4.3):
        canvas.wire((x, middle + 2.2), (x + 0.9, middle - 2.2))
