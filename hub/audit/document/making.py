"""The audit's document as HTML and as PDF, no larger than can be made while somebody waits."""

from datetime import datetime
from typing import Final

from hub.audit.document.content import audit_document, drawings
from hub.audit.document.page import document_html
from hub.audit.service import Examined
from hub.errors import InvalidError, Mistake
from hub.paper.frame import VERSION
from hub.paper.pdf import to_pdf

MOST_DRAWINGS_IN_HTML: Final = 3_000
MOST_DRAWINGS_IN_PDF: Final = 300


def audit_html(examined: Examined, only: str | None, made_at: datetime) -> str:
    """The document of a venue, or of its supply `only`. Raises NotFoundError; InvalidError where it is too large."""
    return _html(examined, only, made_at, "page", MOST_DRAWINGS_IN_HTML)


def audit_pdf(examined: Examined, only: str | None, made_at: datetime) -> bytes:
    """The same as PDF. Takes seconds, in a process of its own. Raises UnavailableError too, as `to_pdf` does."""
    return to_pdf(_html(examined, only, made_at, "PDF", MOST_DRAWINGS_IN_PDF))


def _html(examined: Examined, only: str | None, made_at: datetime, what: str, most: int) -> str:
    if (number := drawings(examined.audit, only)) > most:
        reason = f"its {what} would hold {number} drawings, one for each supply and each run; the most is {most}"
        larger = f" or the HTML, which may hold {MOST_DRAWINGS_IN_HTML}," if most < MOST_DRAWINGS_IN_HTML else ""
        remedy = f"name one supply by `supply`{larger}; the CSV holds any number"
        raise InvalidError(f"the document is too large: {reason}", [Mistake("query.supply", reason, remedy)])
    return document_html(audit_document(examined, made_at, VERSION, only))
