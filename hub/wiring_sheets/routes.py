"""REST of wiring sheets."""

from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Response
from fastapi.responses import StreamingResponse

from hub.app import TheHub
from hub.wiring_sheets import service
from schemas.bounds import MAX_NODES
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}", tags=["wiring sheets"])

SVG, HTML, PDF = "image/svg+xml", "text/html", "application/pdf"
# A sheet opened as a page of the hub's address may run nothing and fetch nothing.
_SAFE: Final = {
    "Content-Security-Policy": "sandbox; default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:",
    "X-Content-Type-Options": "nosniff",
}


def _answers(media_type: str) -> dict[int | str, dict[str, Any]]:
    content = {"schema": {"type": "string", **({"format": "binary"} if media_type == PDF else {})}}
    return {200: {"content": {media_type: content}}}


def _file(content: str | bytes, media_type: str, name: str) -> Response:
    return Response(content, media_type=media_type, headers=_SAFE | _named(name))


def _named(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'inline; filename="{name}"'}


@router.get("/nodes/{node}/wiring-sheet.svg", response_class=Response, responses=_answers(SVG))
def wiring_drawing(hub: TheHub, venue: Id, node: Id) -> Response:
    """The drawing of a node's wiring alone: board, data lines, runs, feeds, fuses, supplies, common ground, legend.

    Its lettering is outlines, so that it looks the same without any font.
    """
    return _file(service.node_drawing(hub.inventory.venue(venue), node), SVG, f"{venue}-{node}-wiring.svg")


@router.get("/nodes/{node}/wiring-sheet.html", response_class=Response, responses=_answers(HTML))
def wiring_sheet(hub: TheHub, venue: Id, node: Id) -> Response:
    """A node's wiring sheet as one HTML file that stands alone and prints on A4.

    Drawing in front; on the back what goes where, practice, cautions, commissioning, and room for as-built figures.
    """
    return _file(service.node_html(hub.inventory.venue(venue), node), HTML, f"{venue}-{node}-wiring.html")


@router.get("/nodes/{node}/wiring-sheet.pdf", response_class=Response, responses=_answers(PDF))
def wiring_sheet_pdf(hub: TheHub, venue: Id, node: Id) -> Response:
    """A node's wiring sheet as PDF, A4. 503 while others are being made, or where the hub's machine lacks Pango."""
    return _file(service.node_pdf(hub.inventory.venue(venue), node), PDF, f"{venue}-{node}-wiring.pdf")


@router.get("/wiring-sheets.html", response_class=StreamingResponse, responses=_answers(HTML))
def wiring_sheets(hub: TheHub, venue: Id) -> StreamingResponse:
    """The wiring sheets of all nodes as one HTML file, in the venue's order; it is sent as it is drawn."""
    sheets = service.venue_html(hub.inventory.venue(venue))
    return StreamingResponse(sheets, media_type=HTML, headers=_SAFE | _named(f"{venue}-wiring.html"))


@router.get("/wiring-sheets.pdf", response_class=Response, responses=_answers(PDF))
def wiring_sheets_pdf(
    hub: TheHub,
    venue: Id,
    first: Annotated[int, Query(ge=1, le=MAX_NODES, description="Place of the first sheet, from 1.")] = 1,
    count: Annotated[
        int | None,
        Query(ge=1, le=service.MOST_SHEETS_IN_PDF, description="So many sheets at most; without it, all that follow."),
    ] = None,
) -> Response:
    """The wiring sheets of all nodes as PDF, at most 20 at once: a larger venue is asked for in parts."""
    return _file(service.venue_pdf(hub.inventory.venue(venue), first, count), PDF, f"{venue}-wiring.pdf")
