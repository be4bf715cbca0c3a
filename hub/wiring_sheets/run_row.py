"""A channel's row: from the board's pin through level shifter and resistor into the run, and the feeds below it."""

from typing import Final

from schemdraw.elements import ResistorIEC

from hub.paper.typeface import Weight, text_width
from hub.wiring_sheets import metrics
from hub.wiring_sheets.canvas import BODY_MM, FINE_PT, HEAVY_PT, SMALL_MM, Box, Canvas
from hub.wiring_sheets.feed_drops import ROOMY_BELOW, compact_below, compact_feeds, roomy_feeds
from hub.wiring_sheets.wiring import ChannelWiring

ABOVE: Final = 10.5
"""Room above the data line."""
_PIXEL: Final = 2.0
_PIXEL_PITCH: Final = 5.6


def is_roomy(channel: ChannelWiring) -> bool:
    return len(channel.feeds) <= metrics.MOST_ROOMY_FEEDS


def row_height(channel: ChannelWiring) -> float:
    below = ROOMY_BELOW if is_roomy(channel) else compact_below(channel)
    return ABOVE + below + (metrics.CLOCK if channel.clocked else 0.0)


def draw_row(canvas: Canvas, channel: ChannelWiring, data_y: float) -> None:
    """The row of `channel` with its data line at `data_y`; the board itself is drawn around all rows."""
    low_y = data_y + (metrics.CLOCK if channel.clocked else 0.0)
    _data_lines(canvas, channel, data_y, low_y)
    _heading(canvas, channel, data_y)
    if is_roomy(channel):
        drops = roomy_feeds(canvas, channel, data_y - metrics.RAIL, low_y + metrics.RAIL)
        _run_in_full(canvas, channel, data_y, low_y, drops)
    else:
        drops = compact_feeds(canvas, channel, low_y + metrics.RAIL)
        _run_as_one_bar(canvas, channel, data_y, low_y, drops)


def _heading(canvas: Canvas, channel: ChannelWiring, data_y: float) -> None:
    kind = channel.pixel_type
    name = f"Run {channel.number}"
    canvas.text(name, metrics.RUN_LEFT, data_y - 7.6, bold=True)
    left = metrics.RUN_LEFT + text_width(name, BODY_MM, Weight.SEMIBOLD) + 1.5
    pixels = "1 pixel" if channel.pixels == 1 else f"{channel.pixels} pixels"
    canvas.text(
        f"{pixels}, {channel.length_m:.2f} m ({channel.pixels_per_m:g} a metre), {kind.volts:g} V, {kind.key}",
        left,
        data_y - 7.6,
        room_mm=metrics.RUN_RIGHT - left,
    )
    canvas.text("0", metrics.RUN_LEFT + 0.5, data_y - 4.0, size_mm=SMALL_MM)
    if channel.pixels > 1:
        last = str(channel.pixels - 1)
        canvas.text(last, metrics.RUN_RIGHT - 0.5, data_y - 4.0, size_mm=SMALL_MM, anchor="end")


def _data_lines(canvas: Canvas, channel: ChannelWiring, data_y: float, low_y: float) -> None:
    shifter = channel.needs_level_shifter or channel.may_need_level_shifter
    if shifter:
        area = Box(metrics.SHIFTER_LEFT, data_y - 4.0, metrics.SHIFTER_RIGHT, low_y + 4.0)
        canvas.box(area, dashed=channel.may_need_level_shifter, outline_only=True)
        canvas.wire((area.left, area.bottom), (area.right, area.top), weight_pt=FINE_PT)
        canvas.text("3.3", area.left + 0.7, area.top + 2.3, size_mm=SMALL_MM)
        to = "5 V" if channel.needs_level_shifter else "?"
        canvas.text(to, area.right - 0.7, area.bottom - 0.9, size_mm=SMALL_MM, anchor="end")
    lines = [(data_y, "data"), (low_y, "clock")] if channel.clocked else [(data_y, "data")]
    for line_y, name in lines:
        if shifter:
            canvas.wire((metrics.BOARD_RIGHT, line_y), (metrics.SHIFTER_LEFT, line_y))
        resistor_from = metrics.SHIFTER_RIGHT if shifter else metrics.BOARD_RIGHT
        canvas.wire((resistor_from, line_y), (metrics.RESISTOR_LEFT, line_y))
        canvas.between(ResistorIEC, (metrics.RESISTOR_LEFT, line_y), (metrics.RESISTOR_RIGHT, line_y))
        canvas.wire((metrics.RESISTOR_RIGHT, line_y), (metrics.RUN_LEFT, line_y), arrow=True)
        name_y = line_y + (2.8 if line_y == low_y else -0.9)
        name_x = metrics.RESISTOR_RIGHT + (3.7 if line_y == low_y else 4.8)
        canvas.text(name, name_x, name_y, size_mm=SMALL_MM, anchor="middle")
        canvas.dot((metrics.BOARD_RIGHT, line_y), open_=True)
    middle = (metrics.RESISTOR_LEFT + metrics.RESISTOR_RIGHT) / 2
    canvas.text("300–500 Ω", middle, data_y - 2.3, size_mm=SMALL_MM, anchor="middle")


def _run_in_full(canvas: Canvas, channel: ChannelWiring, data_y: float, low_y: float, drops: list[float]) -> None:
    """Both rails with the pixels between; the positive one is open where it is cut."""
    left, right = metrics.RUN_LEFT, metrics.RUN_RIGHT
    top, bottom = data_y - metrics.RAIL, low_y + metrics.RAIL
    start = left
    for cut, cut_x in _cut_places(channel, drops):
        canvas.wire((start, top), (cut_x - 0.9, top), weight_pt=HEAVY_PT)
        start = cut_x + 0.9
        for side in (-0.9, 0.9):
            canvas.wire((cut_x + side, top - 1.0), (cut_x + side, top + 1.0))
        canvas.text(f"+ cut before {cut}", cut_x, data_y - 4.2, size_mm=SMALL_MM, anchor="middle")
    canvas.wire((start, top), (right, top), weight_pt=HEAVY_PT)
    canvas.wire((left, bottom), (right, bottom), weight_pt=HEAVY_PT)
    canvas.text("+", left - 0.4, top + 0.8, bold=True, anchor="end")
    canvas.text("–", left - 0.4, bottom + 0.8, bold=True, anchor="end")
    crossings = [drop - 1.8 for drop in drops]
    before = left
    x = left + 3.0
    while x < right - 1.5:
        if all(abs(x - crossing) > _PIXEL for crossing in crossings):
            for line_y in {data_y, low_y}:
                canvas.wire((before, line_y), (x - _PIXEL / 2, line_y), weight_pt=FINE_PT)
            area = Box(x - _PIXEL / 2, data_y - _PIXEL / 2, x + _PIXEL / 2, low_y + _PIXEL / 2)
            canvas.box(area, weight_pt=FINE_PT, outline_only=True)
            before = x + _PIXEL / 2
        x += _PIXEL_PITCH


def _run_as_one_bar(canvas: Canvas, channel: ChannelWiring, data_y: float, low_y: float, drops: list[float]) -> None:
    """Too many feeds for two rails: the run as one bar, its cuts marked across it."""
    area = Box(metrics.RUN_LEFT, data_y - metrics.RAIL, metrics.RUN_RIGHT, low_y + metrics.RAIL)
    canvas.box(area, weight_pt=HEAVY_PT, outline_only=True)
    cuts = _cut_places(channel, drops)
    for _, cut_x in cuts:
        canvas.wire((cut_x - 0.5, area.bottom + 0.8), (cut_x + 0.3, area.top - 0.6))
        canvas.wire((cut_x + 0.1, area.bottom + 0.8), (cut_x + 0.9, area.top - 0.6))
    canvas.wire((area.left + 2, data_y), (area.right - 2, data_y), arrow=True, weight_pt=FINE_PT)
    if cuts:
        listed = "positive rail cut before " + ", ".join(str(cut) for cut, _ in cuts)
        canvas.text(listed, (area.left + area.right) / 2, data_y - 4.0, size_mm=SMALL_MM, anchor="middle", room_mm=96.0)


def _cut_places(channel: ChannelWiring, drops: list[float]) -> list[tuple[int, float]]:
    """Each cut between the feeds before and after it: a section has a feed of its own."""
    places = []
    for cut in channel.cuts:
        after = next((place for place, feed in enumerate(channel.feeds) if feed.at_pixel >= cut), None)
        if after:
            places.append((cut, (drops[after - 1] + drops[after]) / 2))
    return places
