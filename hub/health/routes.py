"""REST of findings: what is wrong, what was; acknowledging, notes, the digest of a day."""

from datetime import date, datetime, timedelta
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Path, Query
from pydantic import Field

from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.api.tokens import ThePerson
from hub.app import TheHub
from hub.errors import InvalidError, Mistake
from hub.health.digest import Digest
from hub.health.kinds import FindingKind, FindingState, Severity
from hub.health.table import FindingFilter
from hub.health.view import FindingDetail, FindingView
from schemas.contract import Contract, Id, Text

MAX_ID_DIGITS = 18  # below what the database holds as a whole number

router = APIRouter(prefix="/venues/{venue}", tags=["findings"])

FindingPath = Annotated[int, Path(ge=1, lt=10**MAX_ID_DIGITS)]


class Acknowledgement(Contract):
    """That somebody is on it."""

    note: Annotated[Text | None, Field(description="What is being done, or known.")] = None


class FindingNote(Contract):
    """What was seen or done."""

    text: Text


@router.get("/findings")
def findings(
    hub: TheHub,
    venue: Id,
    wanted: WantedPage,
    open: Annotated[bool | None, Query(description="Only those still open, or only those that ended.")] = None,  # noqa: A002 (the API's word)
    kind: Annotated[FindingKind | None, Query(description="Only this kind.")] = None,
    node: Annotated[Id | None, Query(description="Only this node's.")] = None,
    severity: Annotated[Severity | None, Query(description="Only this severity.")] = None,
    state: Annotated[FindingState | None, Query(description="Only those in this state.")] = None,
    folded: Annotated[bool, Query(description="Those that another finding stands for, too.")] = False,
) -> Page[FindingView]:
    """What is or was wrong, newest first: each told once, with its start, evidence, end and what to check next."""
    hub.roster.titles(venue)
    asked = FindingFilter(open, kind, node, severity, state, folded)
    found = hub.health.findings(venue, asked, wanted.after_number, wanted.limit + 1)
    return wanted.page(found, lambda finding: finding.id)


@router.get("/findings/digest")
def finding_digest(
    hub: TheHub,
    venue: Id,
    day: Annotated[
        str | None,
        Query(json_schema_extra={"format": "date"}, description="A local day, YYYY-MM-DD; without it today."),
    ] = None,
) -> Digest:
    """A day in a few sentences: what is still wrong, what came and went."""
    zone = ZoneInfo(hub.inventory.venue(venue).time_zone)
    first = datetime.now(zone).date() if day is None else _day(day)
    bounds = (datetime(one.year, one.month, one.day, tzinfo=zone) for one in (first, first + timedelta(days=1)))
    from_ms, until_ms = (int(bound.timestamp() * 1000) for bound in bounds)
    return hub.health.digest(venue, from_ms, until_ms)


@router.get("/findings/{finding}")
def finding(hub: TheHub, venue: Id, finding: FindingPath) -> FindingDetail:
    """One finding: what happened to it, by whom and when, and the findings that it stands for."""
    return hub.health.finding(venue, finding)


@router.post("/findings/{finding}/acknowledge")
def acknowledge_finding(
    hub: TheHub,
    venue: Id,
    finding: FindingPath,
    acknowledgement: Annotated[Acknowledgement, FromJson()],
    person: ThePerson,
) -> FindingView:
    """Say that you are on it: nobody is notified of it any more. 409 where it has ended."""
    return hub.health.acknowledge(venue, finding, person, acknowledgement.note or None)


@router.post("/findings/{finding}/notes")
def note_finding(
    hub: TheHub, venue: Id, finding: FindingPath, note: Annotated[FindingNote, FromJson()], person: ThePerson
) -> FindingView:
    """Add what you saw or did to its history, open or ended; at most 200 notes."""
    if not note.text.strip():
        raise InvalidError("the note says nothing", [Mistake("text", "empty", "write what you saw or did")])
    return hub.health.add_note(venue, finding, person, note.text)


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day.isoformat() != text or not date(1970, 1, 2) <= day < date(9999, 12, 31):
        mistake = Mistake(
            "query.day", f"{text[:20]!a} is no day of the calendar", "write it as YYYY-MM-DD, such as 2031-05-01"
        )
        raise InvalidError("a day cannot be read", [mistake])
    return day
