"""REST of a venue's timetable."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query, Response

from hub.api.etag import Preconditions, etag_of
from hub.api.json_body import FromJson
from hub.app import TheHub
from hub.timetable.moments import MAX_MS, MIN_MS
from hub.timetable.view import CalendarMonth, Timetable, Why
from schemas.contract import Id

CALENDAR = "text/calendar"
MAX_DAYS = 366

router = APIRouter(prefix="/venues/{venue}", tags=["timetable"])


@router.get("/timetable")
def read_timetable(hub: TheHub, venue: Id, response: Response) -> Timetable:
    """The venue's timetable; its ETag for a change."""
    found = hub.timetables.timetable(venue)
    response.headers["ETag"] = etag_of(found)
    return found


@router.put("/timetable")
def put_timetable(
    hub: TheHub, venue: Id, body: Annotated[Timetable, FromJson()], precondition: Preconditions, response: Response
) -> Timetable:
    """Put a timetable in the place of the one before. Refused (422) where the venue would then have a mistake.

    A rollout follows: boards get the takes of the coming eight days, and go on by them with neither hub nor network.
    An entry goes out unattended, so one whose scene fails the flash check counts only where it names who confirms it.
    """
    hub.timetables.put(venue, body, precondition)
    response.headers["ETag"] = etag_of(body)
    return body


@router.get("/timetable/why")
def explain_timetable(
    hub: TheHub,
    venue: Id,
    at_ms: Annotated[
        int | None, Query(ge=MIN_MS, lt=MAX_MS, description="Show time, Unix epoch, ms; without it now.")
    ] = None,
) -> Why:
    """Why a scene is on, over what it wins, and what is next."""
    return hub.timetables.why(venue, at_ms)


@router.get("/timetable/month")
def read_timetable_month(
    hub: TheHub,
    venue: Id,
    month: Annotated[
        str | None,
        Query(pattern=r"^[0-9]{4}-(?:0[1-9]|1[0-2])$", description="YYYY-MM; without it the present one at the venue."),
    ] = None,
) -> CalendarMonth:
    """What is on in a month, day by day in the venue's local time, with the sun."""
    return hub.timetables.month(venue, month)


@router.get("/timetable.ics", response_class=Response, responses={HTTPStatus.OK: {"content": {CALENDAR: {}}}})
def export_timetable(
    hub: TheHub,
    venue: Id,
    days: Annotated[int, Query(ge=1, le=MAX_DAYS, description="How many days from now on.")] = MAX_DAYS,
) -> Response:
    """What is on in the coming days as an iCalendar file (RFC 5545) for any calendar, an event a spell, in UTC."""
    headers = {"Content-Disposition": f'attachment; filename="{venue}-timetable.ics"'}
    return Response(hub.timetables.calendar(venue, days), media_type=CALENDAR, headers=headers)
