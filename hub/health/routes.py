"""REST of findings."""

from typing import Annotated

from fastapi import APIRouter, Query

from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.errors import InvalidError, Mistake
from hub.health.kinds import FindingKind
from hub.health.table import FindingFilter
from hub.health.view import FindingView
from schemas.contract import Id

MAX_ID_DIGITS = 18  # below what the database holds as a whole number

router = APIRouter(prefix="/venues/{venue}", tags=["findings"])


@router.get("/findings")
def findings(
    hub: TheHub,
    venue: Id,
    wanted: WantedPage,
    open: Annotated[bool | None, Query(description="Only those still open, or only those that ended.")] = None,  # noqa: A002 (the API's word)
    kind: Annotated[FindingKind | None, Query(description="Only this kind.")] = None,
    node: Annotated[Id | None, Query(description="Only this node's.")] = None,
) -> Page[FindingView]:
    """What is or was wrong, newest first: each told once, with its start, evidence, end and what to check next."""
    hub.roster.titles(venue)
    found = hub.health.findings(venue, FindingFilter(open, kind, node), _id_of(wanted.after), wanted.limit + 1)
    return wanted.page(found, lambda finding: finding.id)


def _id_of(cursor: str | None) -> int | None:
    if cursor is None:
        return None
    if not (cursor.isascii() and cursor.isdecimal() and len(cursor) <= MAX_ID_DIGITS):
        mistake = Mistake(
            "query.cursor", "not a cursor of this list", "send `next` of the page before, or leave it out"
        )
        raise InvalidError("the cursor is not one of this list's", [mistake])
    return int(cursor)
