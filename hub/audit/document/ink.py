"""What the audit's charts are drawn with: lines told apart by dash and weight, never by colour alone. Pure.

Lengths are in points of the printed page. A chart is one SVG element that stands in a page without an id of its own.
"""

import math
from collections.abc import Iterable, Sequence
from typing import Final, Literal

import svg
from markupsafe import Markup, escape

from hub.paper.typeface import FAMILY_STACK

INK: Final = "#1c2a36"
SOFT: Final = "#4a5863"
MIDDLE: Final = "#9aa3a9"
FAINT: Final = "#c3c8cc"
SIZE: Final = 7.0
"""Type size of a chart's lettering."""
WIDTH: Final = 527.0
"""Width of every chart: what the margins leave of A4."""

Anchor = Literal["start", "middle", "end"]
Points = Sequence[tuple[float, float]]


def letters(
    x: float, y: float, words: object, *, anchor: Anchor = "start", bold: bool = False, soft: bool = False
) -> svg.Text:
    """A line of text with its baseline at `y`."""
    return svg.Text(
        x=_placed(x),
        y=_placed(y),
        text=str(escape(str(words))),
        text_anchor=anchor,
        font_family=FAMILY_STACK,
        font_size=SIZE,
        font_weight="600" if bold else None,
        fill=SOFT if soft else INK,
    )


def stroke(
    points: Points, *, width: float = 0.6, dash: Sequence[float] | None = None, colour: str = INK
) -> svg.Polyline:
    """An open line through `points`."""
    return svg.Polyline(
        points=[svg.Point(_placed(x), _placed(y)) for x, y in points],
        fill="none",
        stroke=colour,
        stroke_width=width,
        stroke_dasharray=None if dash is None else list(dash),
        stroke_linejoin="round",
        stroke_linecap="butt",
    )


def shape(points: Points, *, fill: str = INK, outline: str = INK, width: float = 0.6) -> svg.Polygon:
    """A closed outline."""
    return svg.Polygon(
        points=[svg.Point(_placed(x), _placed(y)) for x, y in points], fill=fill, stroke=outline, stroke_width=width
    )


def box(x: float, y: float, width: float, height: float, *, fill: str) -> svg.Polygon:
    """An outlined rectangle."""
    return shape([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], fill=fill)


def chart(height: float, title: str, elements: Iterable[svg.Element]) -> Markup:
    """The elements as a chart of `WIDTH` by `height`; `title` is what readers of the screen are told."""
    drawn = svg.SVG(
        viewBox=svg.ViewBoxSpec(0, 0, WIDTH, _placed(height)),
        class_=["chart"],
        extra={"role": "img"},
        elements=[svg.Title(text=str(escape(title))), *elements],
    )
    return Markup(drawn.as_str())  # noqa: S704 (every text in it went through `escape`)


def round_steps(low: float, high: float, most: int) -> list[float]:
    """Round numbers from `low` to `high`, evenly spaced, at most `most` + 1 of them."""
    span = max(high - low, 1e-9)
    unit = 10.0 ** math.floor(math.log10(span / most))
    step = next(one for factor in (1, 2, 2.5, 5, 10) if span / (one := factor * unit) <= most + 1e-9)
    first = math.ceil(low / step - 1e-9)
    return [round(place * step, 9) for place in range(first, math.floor(high / step + 1e-9) + 1)]


def _placed(place: float) -> float:
    return round(place, 2)
