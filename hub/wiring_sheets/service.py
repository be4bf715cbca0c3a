"""Wiring sheets of a venue as it is loaded, in every form."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Final

from hub.errors import InvalidError, Mistake, NotFoundError
from hub.paper.pdf import to_pdf
from hub.wiring_sheets.drawing import draw_node, drawing_file
from hub.wiring_sheets.page import Sheet, drawing_title, sheets_html
from hub.wiring_sheets.wiring import VenueWiring
from schemas import Venue

MOST_SHEETS_IN_PDF: Final = 20
"""A sheet takes the better part of a second; more of them come in parts."""


def node_drawing(venue: Venue, node: str) -> str:
    """The drawing of one node as an SVG file that stands alone. Raises NotFoundError."""
    wiring = VenueWiring(venue).node(node)
    return drawing_file(draw_node(wiring), drawing_title(wiring))


def node_html(venue: Venue, node: str) -> str:
    """The whole sheet of one node as a page that stands alone. Raises NotFoundError."""
    places = {one.id: place for place, one in enumerate(venue.nodes, start=1)}
    if node not in places:
        raise NotFoundError("node", node)
    sheet = Sheet(VenueWiring(venue).node(node), places[node], len(places))
    return "".join(sheets_html([sheet], f"Wiring sheet of {node}, {venue.title}", datetime.now(UTC)))


def node_pdf(venue: Venue, node: str) -> bytes:
    """The whole sheet of one node. Raises NotFoundError, UnavailableError."""
    return to_pdf(node_html(venue, node))


def venue_html(venue: Venue, first: int = 1, count: int | None = None) -> Iterator[str]:
    """All sheets as one page, drawn one by one as they are asked for; `count` of them from place `first`, from 1."""
    sheets = (
        Sheet(wiring, place, len(venue.nodes))
        for place, wiring in enumerate(VenueWiring(venue).nodes(first, count), start=first)
    )
    return sheets_html(sheets, f"Wiring sheets, {venue.title}", datetime.now(UTC))


def venue_pdf(venue: Venue, first: int = 1, count: int | None = None) -> bytes:
    """All sheets, or `count` from place `first`. Raises InvalidError for more than a PDF holds, UnavailableError."""
    nodes = len(venue.nodes)
    if first > max(nodes, 1):
        beyond = Mistake("query.first", f"the venue has {nodes} nodes", f"use 1 to {max(nodes, 1)}")
        raise InvalidError("there is no such sheet", [beyond])
    wanted = nodes - first + 1 if count is None else count
    if wanted > MOST_SHEETS_IN_PDF:
        many = Mistake(
            "query.count",
            f"{wanted} sheets are too many for one PDF",
            f"ask for parts: first=1&count={MOST_SHEETS_IN_PDF}, then first={MOST_SHEETS_IN_PDF + 1} and so on; or "
            "take the HTML, which holds all",
        )
        raise InvalidError(f"a PDF holds at most {MOST_SHEETS_IN_PDF} sheets", [many])
    return to_pdf("".join(venue_html(venue, first, wanted)))
