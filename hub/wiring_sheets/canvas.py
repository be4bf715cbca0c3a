"""A drawing in millimetres, x to the right and y down: symbols and wires by schemdraw, lettering in our typeface.

Everything that is put on it leaves its box behind, so that a layout can be held to "nothing overlaps".
"""

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

import schemdraw
from schemdraw import elements
from schemdraw.elements import Element

from hub.paper.typeface import (
    CAP_HEIGHT,
    DESCENT,
    FAMILY_STACK,
    Weight,
    advance,
    fitted,
    glyph_path,
    text_width,
)

INK: Final = "#1c2a36"
WIRE_PT: Final = 0.9
FINE_PT: Final = 0.5
HEAVY_PT: Final = 1.6
BODY_MM: Final = 2.5
"""Type size of plain lettering."""
SMALL_MM: Final = 2.2
_UNIT_MM: Final = 5.0  # schemdraw's symbols are about one of its units long
_PT_PER_MM: Final = 72 / 25.4
_SVG: Final = "http://www.w3.org/2000/svg"
Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle, mm."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: "Box") -> bool:
        """Whether they share an area; touching edges do not count."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


@dataclass(frozen=True, slots=True)
class Lettering:
    """A line of text with its baseline's anchor at `x_mm`, `y_mm`; `upwards` turns it to be read from the right."""

    text: str
    x_mm: float
    y_mm: float
    size_mm: float
    weight: Weight
    anchor: Anchor
    upwards: bool

    @property
    def box(self) -> Box:
        width = text_width(self.text, self.size_mm, self.weight)
        before = {"start": 0.0, "middle": width / 2, "end": width}[self.anchor]
        rise, drop = CAP_HEIGHT * self.size_mm, DESCENT * self.size_mm
        if self.upwards:
            return Box(self.x_mm - rise, self.y_mm - width + before, self.x_mm + drop, self.y_mm + before)
        return Box(self.x_mm - before, self.y_mm - rise, self.x_mm - before + width, self.y_mm + drop)


class Canvas:
    """Collects a drawing; `svg` writes it."""

    def __init__(self, width_mm: float) -> None:
        self.width_mm = width_mm
        self.height_mm = 0.0
        self.letterings: list[Lettering] = []
        self.symbols: list[Box] = []
        self._drawing = schemdraw.Drawing(canvas="svg", show=False)
        self._drawing.config(unit=1, inches_per_unit=_UNIT_MM / 25.4, lw=WIRE_PT, color=INK, margin=0)

    def text(
        self,
        text: str,
        x_mm: float,
        y_mm: float,
        *,
        size_mm: float = BODY_MM,
        bold: bool = False,
        anchor: Anchor = "start",
        upwards: bool = False,
        room_mm: float | None = None,
    ) -> None:
        """One line of text; shortened in its middle where it would be longer than `room_mm`."""
        weight = Weight.SEMIBOLD if bold else Weight.REGULAR
        shown = text if room_mm is None else fitted(text, room_mm, size_mm, weight)
        self.letterings.append(Lettering(shown, x_mm, y_mm, size_mm, weight, anchor, upwards))

    def wire(self, *points: Point, arrow: bool = False, weight_pt: float = WIRE_PT) -> None:
        """A line through points; an arrow head at its end."""
        for start, end in pairwise(points):
            last = end is points[-1]
            line = elements.Line(arrow="->" if arrow and last else None, arrowwidth=0.22, arrowlength=0.36)
            self._add(line.at(_place(start)).to(_place(end)), weight_pt)

    def between(self, symbol: type[Element], start: Point, end: Point, *, body_mm: float = _UNIT_MM) -> None:
        """A symbol of two terminals amid a wire from `start` to `end`; `body_mm` is the length of its body."""
        scale = body_mm / _UNIT_MM
        self._add(symbol().at(_place(start)).to(_place(end)).scale(scale), WIRE_PT)
        middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        along, across = body_mm / 2, body_mm / 4
        half = (along, across) if abs(end[0] - start[0]) > abs(end[1] - start[1]) else (across, along)
        self.symbols.append(Box(middle[0] - half[0], middle[1] - half[1], middle[0] + half[0], middle[1] + half[1]))

    def box(self, area: Box, *, weight_pt: float = WIRE_PT, dashed: bool = False, outline_only: bool = False) -> None:
        """A rectangle. Lettering may lie inside of it where `outline_only`."""
        corners = [_place((area.left, area.top)), _place((area.right, area.bottom))]
        rectangle = elements.Rect(corner1=corners[0], corner2=corners[1], ls="--" if dashed else "-")
        # Without a direction of its own an element takes that of the one before.
        self._add(rectangle.at((0, 0)).theta(0), weight_pt)
        if not outline_only:
            self.symbols.append(area)

    def dot(self, at: Point, *, open_: bool = False, radius_mm: float = 0.55) -> None:
        """A connection, or, open, a terminal."""
        self._add(elements.Dot(open=open_, radius=radius_mm / _UNIT_MM).at(_place(at)), WIRE_PT)
        self.symbols.append(Box(at[0] - radius_mm, at[1] - radius_mm, at[0] + radius_mm, at[1] + radius_mm))

    def svg(self, *, title: str, as_paths: bool) -> ET.Element:
        """The drawing. `as_paths`: lettering as outlines, so that it stands alone; else as text in our typeface."""
        root = ET.Element("svg", {"xmlns": _SVG, "role": "img", "viewBox": f"0 0 {self.width_mm:g} {self.height_mm:g}"})
        ET.SubElement(root, "title").text = title
        root.append(self._symbols())
        if as_paths:
            root.extend(_outlined(self.letterings))
        else:
            root.append(_lettered(self.letterings))
        return root

    def _add(self, element: Element, weight_pt: float) -> None:
        self._drawing.add(element.linewidth(weight_pt))

    def _symbols(self) -> ET.Element:
        """What schemdraw drew, from its points to our millimetres, as plain SVG."""
        group = ET.Element("g", {"transform": f"scale({1 / _PT_PER_MM:.6f})"})
        if self._drawing.elements:
            for child in ET.fromstring(self._drawing.get_imagedata("svg")):  # noqa: S314 (schemdraw wrote it)
                child.tag = child.tag.removeprefix(f"{{{_SVG}}}")
                # schemdraw writes its own word for a solid line, which no CSS knows.
                child.set("style", child.get("style", "").replace("stroke-dasharray:-;", ""))
                group.append(child)
        return group


def _place(point: Point) -> Point:
    return point[0] / _UNIT_MM, -point[1] / _UNIT_MM


def _lettered(letterings: Sequence[Lettering]) -> ET.Element:
    group = ET.Element("g", {"font-family": FAMILY_STACK, "fill": INK})
    for one in letterings:
        attributes = {
            "x": f"{one.x_mm:.2f}",
            "y": f"{one.y_mm:.2f}",
            "font-size": f"{one.size_mm:g}",
            "font-weight": str(one.weight.css),
            "text-anchor": one.anchor,
        }
        if one.upwards:
            attributes["transform"] = f"rotate(-90 {one.x_mm:.2f} {one.y_mm:.2f})"
        ET.SubElement(group, "text", attributes).text = one.text
    return group


def _outlined(letterings: Sequence[Lettering]) -> list[ET.Element]:
    """Every character drawn once under a name, and its uses; each line keeps its words as a label."""
    defined: dict[tuple[str, Weight], str] = {}
    shapes = ET.Element("defs")
    group = ET.Element("g", {"fill": INK})
    for one in letterings:
        width = text_width(one.text, 1.0, one.weight)
        along = {"start": 0.0, "middle": -width / 2, "end": -width}[one.anchor] * 1_000
        turn = " rotate(-90)" if one.upwards else ""
        transform = f"translate({one.x_mm:.2f} {one.y_mm:.2f}){turn} scale({one.size_mm / 1_000:g})"
        line = ET.SubElement(group, "g", {"role": "text", "aria-label": one.text, "transform": transform})
        for character in one.text:
            key = character, one.weight
            if key not in defined:
                defined[key] = f"c{len(defined)}"
                path = glyph_path(character, one.weight)
                ET.SubElement(shapes, "path", {"id": defined[key], "d": path})
            if character != " ":
                ET.SubElement(line, "use", {"href": f"#{defined[key]}", "x": f"{along:.0f}"})
            along += advance(character, one.weight) * 1_000
    return [shapes, group]
