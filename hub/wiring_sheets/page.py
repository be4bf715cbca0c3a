"""Wiring sheets as one printed page or more: drawing in front, tables, practice and as-built figures on the back."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Final

from jinja2 import Environment
from markupsafe import Markup

from hub.paper.frame import printed_page, templates_of
from hub.wiring_sheets.canvas import Canvas
from hub.wiring_sheets.drawing import draw_node, svg_text
from hub.wiring_sheets.practice import CAUTIONS, PRACTICE
from hub.wiring_sheets.wiring import NodeWiring

MOST_NODES: Final = 12
"""Other nodes that a supply's line lists."""
_DRAWING_ROOM_MM: Final = 228.0
_WARNING_MM: Final = 8.0
_LEAST_DRAWING_MM: Final = 120.0
# No title can hold it: control characters are refused in them.
_BODY_MARK: Final = Markup("\0")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A node's wiring and its place, from 1, among the venue's sheets."""

    wiring: NodeWiring
    place: int
    places: int


def drawing_title(wiring: NodeWiring) -> str:
    """What a reader of the screen is told first."""
    return f"Wiring of node {wiring.node} of venue {wiring.venue}"


def sheets_html(sheets: Iterable[Sheet], title: str, drawn_at: datetime) -> Iterator[str]:
    """One page with all the sheets, in pieces: its head, then a piece for each sheet as it is drawn, then its end."""
    head, end = printed_page(title=title, body=_BODY_MARK, style=_style()).split(_BODY_MARK)
    yield head
    empty = True
    for sheet in sheets:
        empty = False
        yield _sheet_html(sheet, drawn_at)
    if empty:
        yield "<p>The venue has no nodes.</p>"
    yield end


def _sheet_html(sheet: Sheet, drawn_at: datetime) -> str:
    wiring = sheet.wiring
    return (
        _templates()
        .get_template("sheet.html.j2")
        .render(
            one=wiring,
            place=sheet.place,
            places=sheet.places,
            drawn_at=drawn_at,
            drawing=_drawing(wiring, draw_node(wiring)),
            cautions=CAUTIONS,
            practice=PRACTICE,
            most_nodes=MOST_NODES,
        )
    )


def _drawing(wiring: NodeWiring, canvas: Canvas) -> Markup:
    """The drawing as large as the front of the sheet has room for."""
    room_mm = max(_DRAWING_ROOM_MM - _WARNING_MM * len(wiring.warnings), _LEAST_DRAWING_MM)
    scale = min(1.0, room_mm / canvas.height_mm)
    root = canvas.svg(title=drawing_title(wiring), as_paths=False)
    root.set("width", f"{canvas.width_mm * scale:.1f}mm")
    root.set("height", f"{canvas.height_mm * scale:.1f}mm")
    return Markup(svg_text(root))  # noqa: S704 (written by an XML library, which escapes)


@cache
def _templates() -> Environment:
    return templates_of("hub.wiring_sheets")


@cache
def _style() -> str:
    return (files("hub.wiring_sheets") / "templates" / "sheet.css").read_text(encoding="utf-8")
