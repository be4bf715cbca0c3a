"""The supplies at the foot of the drawing: mains side closed, DC terminals open, negatives tied to the board's."""

from typing import Final

from hub.paper.typeface import Weight, text_width
from hub.wiring_sheets import metrics
from hub.wiring_sheets.canvas import BODY_MM, FINE_PT, HEAVY_PT, SMALL_MM, Box, Canvas
from hub.wiring_sheets.wiring import SupplyWiring

MOST_IN_FULL: Final = 6
_LEFT: Final = 18.0
_FULL_WIDTH, _FULL_HEIGHT = 56.0, 28.0
_BRIEF_WIDTH, _BRIEF_HEIGHT = 42.0, 14.5
_MAINS_HEIGHT: Final = 8.0


def draw_supplies(canvas: Canvas, supplies: tuple[SupplyWiring, ...], top: float, trunk_from_y: float) -> float:
    """The strip from `top` down, and the common ground from the board's terminal at `trunk_from_y`; its lower end."""
    if not supplies:
        return top
    if len(supplies) <= MOST_IN_FULL:
        across, width, height, below = 3, _FULL_WIDTH, _FULL_HEIGHT, top
    else:
        across, width, height, below = 4, _BRIEF_WIDTH, _BRIEF_HEIGHT, top + _MAINS_HEIGHT
        _mains_of_all(canvas, top)
    lines = [supplies[start : start + across] for start in range(0, len(supplies), across)]
    for place, line in enumerate(lines):
        cell_top = below + place * height
        ground_y = cell_top + height - 3.0
        last = place == len(lines) - 1
        ends = []
        for column, supply in enumerate(line):
            left = _LEFT + column * width
            draw = _in_full if len(supplies) <= MOST_IN_FULL else _in_brief
            ends.append(draw(canvas, supply, left, cell_top, ground_y))
        canvas.wire((metrics.TRUNK_X, ground_y), (ends[-1], ground_y))
        if not last:
            canvas.dot((metrics.TRUNK_X, ground_y))
        for end in ends[:-1]:
            canvas.dot((end, ground_y))
    bottom = below + len(lines) * height
    canvas.wire((metrics.TRUNK_X, trunk_from_y), (metrics.TRUNK_X, bottom - 3.0))
    canvas.text("common ground, 0 V", metrics.TRUNK_X - 1.2, top - 2.0, size_mm=SMALL_MM, upwards=True)
    return bottom


def _in_full(canvas: Canvas, one: SupplyWiring, left: float, top: float, ground_y: float) -> float:
    """A supply with its symbol and terminals; where it meets the common ground."""
    supply = one.supply
    name_width = text_width(one.name, 2.7, Weight.SEMIBOLD) + 1.2
    canvas.text(one.name, left, top + 2.4, size_mm=2.7, bold=True)
    canvas.text(supply.id, left + name_width, top + 2.4, room_mm=_FULL_WIDTH - name_width - 3.0)
    mains = Box(left, top + 5.0, left + 13.0, top + 16.5)
    symbol = Box(left + 17.0, top + 5.0, left + 28.5, top + 16.5)
    canvas.box(mains, weight_pt=HEAVY_PT, outline_only=True)
    for place, words in enumerate(("mains side:", "licensed", "electrician")):
        middle = (mains.left + mains.right) / 2
        canvas.text(words, middle, mains.top + 3.6 + 2.8 * place, size_mm=1.9, anchor="middle", room_mm=12.2)
    canvas.wire((mains.right, top + 10.75), (symbol.left, top + 10.75))
    canvas.box(symbol, outline_only=True)
    canvas.wire((symbol.left, symbol.bottom), (symbol.right, symbol.top), weight_pt=FINE_PT)
    canvas.text("AC", symbol.left + 1.0, symbol.top + 3.2)
    canvas.text("DC", symbol.right - 1.0, symbol.bottom - 1.6, anchor="end")
    terminal_x = left + 32.0
    for terminal_y, sign in ((top + 7.5, "+"), (top + 14.0, "–")):
        canvas.wire((symbol.right, terminal_y), (terminal_x, terminal_y))
        canvas.dot((terminal_x, terminal_y), open_=True)
        canvas.text(sign, terminal_x + 1.2, terminal_y + 0.8, bold=True)
    canvas.wire((terminal_x, top + 14.55), (terminal_x, ground_y))
    canvas.text(f"{supply.volts:g} V DC, {supply.rated_a:g} A", left, top + 20.2, room_mm=30.0)
    for place, words in enumerate(_feed_lines(one.feeds, 20.0, most_lines=3)):
        canvas.text(words, terminal_x + 3.2, top + 8.2 + 2.8 * place, size_mm=SMALL_MM, room_mm=20.0)
    return terminal_x


def _in_brief(canvas: Canvas, one: SupplyWiring, left: float, top: float, ground_y: float) -> float:
    """One of many supplies: a box with its words; where it meets the common ground."""
    supply = one.supply
    area = Box(left, top, left + _BRIEF_WIDTH - 3.0, top + 8.4)
    canvas.box(area, outline_only=True)
    name_width = text_width(one.name, BODY_MM, Weight.SEMIBOLD) + 1.0
    canvas.text(one.name, left + 1.0, top + 3.2, bold=True)
    canvas.text(supply.id, left + 1.0 + name_width, top + 3.2, size_mm=SMALL_MM, room_mm=37.0 - name_width)
    rating = f"{supply.volts:g} V, {supply.rated_a:g} A "
    (feeds,) = _feed_lines(one.feeds, 37.0 - text_width(rating, SMALL_MM), most_lines=1)
    canvas.text(rating + feeds, left + 1.0, top + 6.8, size_mm=SMALL_MM, room_mm=37.0)
    middle = (area.left + area.right) / 2
    canvas.wire((middle, area.bottom), (middle, ground_y))
    canvas.text("–", middle + 0.8, area.bottom + 2.2, bold=True)
    return middle


def _mains_of_all(canvas: Canvas, top: float) -> None:
    area = Box(_LEFT, top, _LEFT + 4 * _BRIEF_WIDTH - 3.0, top + 5.2)
    canvas.box(area, weight_pt=HEAVY_PT, outline_only=True)
    canvas.text(
        "mains side of every supply: licensed electrician", (area.left + area.right) / 2, top + 3.4, anchor="middle"
    )


def _feed_lines(feeds: tuple[str, ...], room: float, *, most_lines: int) -> list[str]:
    """Names of feeds on lines no longer than `room`; where the lines run out, how many more there are."""
    lines = ["to"]
    for place, feed in enumerate(feeds):
        rest = len(feeds) - place - 1
        last = len(lines) == most_lines
        tail = f" and {rest} more" if last and rest else ""
        if text_width(f"{lines[-1]} {feed}{tail}", SMALL_MM) <= room:
            lines[-1] += f" {feed}"
        elif last:
            lines[-1] += f" and {rest + 1} more"
            break
        else:
            lines.append(feed)
    return lines
