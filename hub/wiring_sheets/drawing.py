"""The drawing of one node's wiring, laid out by what there is."""

import xml.etree.ElementTree as ET
from typing import Final

from hub.wiring_sheets import metrics
from hub.wiring_sheets.canvas import HEAVY_PT, SMALL_MM, Box, Canvas
from hub.wiring_sheets.legend import draw_legend
from hub.wiring_sheets.run_row import ABOVE, draw_row, is_roomy, row_height
from hub.wiring_sheets.supply_strip import draw_supplies
from hub.wiring_sheets.wiring import NodeWiring

_GAP: Final = 2.5
_BOARD_ABOVE, _BOARD_BELOW = 9.5, 11.0
_TEXT_ROOM: Final = metrics.BOARD_RIGHT - metrics.BOARD_LEFT - 3.5


def draw_node(wiring: NodeWiring) -> Canvas:
    """Everything on its place; `Canvas.svg` writes it."""
    canvas = Canvas(metrics.WIDTH)
    rows: list[float] = []
    top = 0.5
    for channel in wiring.channels:
        rows.append(top + ABOVE)
        draw_row(canvas, channel, rows[-1])
        top += row_height(channel) + _GAP
    board_bottom = _board(canvas, wiring, rows)
    top = max(top, board_bottom + 4.0) + 1.0
    top = draw_supplies(canvas, wiring.supplies, top, board_bottom)
    roomy = [is_roomy(channel) for channel in wiring.channels]
    may_shift = any(channel.may_need_level_shifter for channel in wiring.channels)
    canvas.height_mm = draw_legend(canvas, top + 1.0, in_full=any(roomy), in_brief=not all(roomy), may_shift=may_shift)
    return canvas


def drawing_file(canvas: Canvas, title: str) -> str:
    """The drawing as an SVG file that stands alone and needs no font."""
    root = canvas.svg(title=title, as_paths=True)
    root.set("width", f"{canvas.width_mm:g}mm")
    root.set("height", f"{canvas.height_mm:g}mm")
    return svg_text(root)


def svg_text(root: ET.Element) -> str:
    return ET.tostring(root, encoding="unicode")


def _board(canvas: Canvas, wiring: NodeWiring, rows: list[float]) -> float:
    """The board around the rows of its channels; its lower edge, where its 0 V terminal is."""
    top = rows[0] - _BOARD_ABOVE if rows else 0.5
    bottom = rows[-1] + _BOARD_BELOW if rows else top + 20.0
    area = Box(metrics.BOARD_LEFT, top, metrics.BOARD_RIGHT, bottom)
    canvas.box(area, weight_pt=HEAVY_PT, outline_only=True)
    canvas.text("Board", area.left + 1.5, top + 3.4, bold=True, size_mm=2.4)
    canvas.text(wiring.node, area.left + 1.5, top + 6.3, room_mm=_TEXT_ROOM, size_mm=SMALL_MM)
    for channel, data_y in zip(wiring.channels, rows, strict=True):
        right = area.right - 2.0
        canvas.text(f"Channel {channel.number}", right, data_y + 0.8, bold=True, anchor="end")
        pin = f"pin {channel.pin}" + (" and clock" if channel.clocked else "")
        canvas.text(pin, right, data_y + 4.2, size_mm=SMALL_MM, anchor="end", room_mm=_TEXT_ROOM)
    if not wiring.channels:
        canvas.text("no channel is recorded", area.left + 1.5, top + 11.0, size_mm=SMALL_MM, room_mm=_TEXT_ROOM)
    canvas.text("0 V", metrics.TRUNK_X, bottom - 1.6, size_mm=SMALL_MM, anchor="middle")
    canvas.dot((metrics.TRUNK_X, bottom), open_=True)
    return bottom
