"""REST of the audit as a document: HTML, PDF and CSV, named for the venue and the day."""

from datetime import UTC, datetime
from typing import Annotated, Any, Final

from fastapi import APIRouter, Query
from fastapi.responses import HTMLResponse, Response

from hub.app import TheHub
from hub.audit.document.making import audit_html, audit_pdf
from hub.audit.document.tables import feeds_csv, supplies_csv
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}", tags=["audit"])

# Opened as a page of the hub's address it may run nothing and fetch nothing.
_SAFE: Final = {
    "Content-Security-Policy": "sandbox; default-src 'none'; style-src 'unsafe-inline'; font-src data:",
    "X-Content-Type-Options": "nosniff",
}

OneSupply = Annotated[Id | None, Query(description="Only this supply's sheet, with cautions and assumptions.")]


class PdfResponse(Response):
    """A PDF."""

    media_type = "application/pdf"


class CsvResponse(Response):
    """CSV, UTF-8."""

    media_type = "text/csv; charset=utf-8"


def _described(media_type: str, schema: dict[str, str]) -> dict[int | str, dict[str, Any]]:
    return {200: {"content": {media_type: {"schema": {"type": "string"} | schema}}}}


@router.get("/audit.html", response_class=HTMLResponse)
def audit_as_html(hub: TheHub, venue: Id, supply: OneSupply = None) -> HTMLResponse:
    """The audit as a document to print and sign: overview, a sheet for each supply with drawings of its figures and of
    the volts along its runs, assumptions, cautions, formulas. It stands alone and loads nothing.
    """
    now = datetime.now(UTC)
    page = audit_html(hub.audit.examined(venue), supply, now)
    return HTMLResponse(page, headers=_SAFE | _headers("inline", "audit", venue, supply, now, "html"))


@router.get("/audit.pdf", response_class=PdfResponse, responses=_described("application/pdf", {"format": "binary"}))
def audit_as_pdf(hub: TheHub, venue: Id, supply: OneSupply = None) -> PdfResponse:
    """The same document as PDF, A4. About a second for ten drawings; of a large venue one supply at a time."""
    now = datetime.now(UTC)
    document = audit_pdf(hub.audit.examined(venue), supply, now)
    return PdfResponse(document, headers=_headers("inline", "audit", venue, supply, now, "pdf"))


@router.get("/audit.csv", response_class=CsvResponse, responses=_described("text/csv", {}))
def audit_as_csv(hub: TheHub, venue: Id) -> CsvResponse:
    """All figures of all supplies, a line a supply, units in the columns' names; empty where one is not known.

    RFC 4180 in UTF-8. Text that a spreadsheet would take for a formula begins with an apostrophe.
    """
    headers = _headers("attachment", "audit", venue, None, datetime.now(UTC), "csv")
    return CsvResponse(supplies_csv(hub.audit.audit(venue)), headers=headers)


@router.get("/audit-feeds.csv", response_class=CsvResponse, responses=_described("text/csv", {}))
def audit_feeds_as_csv(hub: TheHub, venue: Id) -> CsvResponse:
    """All feeds, a line a feed: its wire, length, fuse, amps at three levels, drop and heat. As `audit.csv`."""
    headers = _headers("attachment", "audit-feeds", venue, None, datetime.now(UTC), "csv")
    return CsvResponse(feeds_csv(hub.audit.audit(venue)), headers=headers)


def _headers(how: str, what: str, venue: str, supply: str | None, now: datetime, ending: str) -> dict[str, str]:
    # Ids are letters, digits and hyphens: nothing in the name needs quoting.
    parts = (what, venue, *([supply] if supply else []), f"{now:%Y-%m-%d}")
    return {"Content-Disposition": f'{how}; filename="{"-".join(parts)}.{ending}"', "Cache-Control": "no-store"}
