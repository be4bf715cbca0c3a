"""REST of notification: destinations, their test messages, and the notices on their way or given up."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query, Response
from fastapi import Path as InPath

from hub.api.etag import Preconditions
from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.errors import NotFoundError
from hub.notify.destination import DestinationSettings, NewDestination
from hub.notify.notice import NoticeState
from hub.notify.view import Destinations, DestinationView, MadeDestination, NoticeView, Tested
from schemas.contract import Id

MAX_ID_DIGITS = 18  # below what the database holds as a whole number

router = APIRouter(prefix="/venues/{venue}", tags=["notification"])

NoticeId = Annotated[str, InPath(description="Id of the notice.", max_length=40)]


@router.get("/destinations")
def list_destinations(hub: TheHub, venue: Id) -> Destinations:
    """Who is told of the venue's findings, in the order of their ids. URLs and keys are never shown again."""
    return hub.notify.destinations(venue)


@router.post("/destinations", status_code=HTTPStatus.CREATED)
def add_destination(hub: TheHub, venue: Id, body: Annotated[NewDestination, FromJson()]) -> MadeDestination:
    """Add somebody who is told from now on; 409 where the id is taken.

    - `apprise`: mail, chat and the rest, by a URL of the apprise library.
    - `webhook`: a POST of the finding as JSON, signed by RFC 9421 with hmac-sha256 over a Content-Digest (RFC 9530).
      `Idempotency-Key` is the same at every attempt. The answer has the key, this once.
    - `heartbeat`: a GET every minute while the hub is well, so that somebody notices when it is not.

    Redirects are not followed. What is not taken is tried again, ever more seldom, for a day.
    """
    return hub.notify.add(venue, body)


@router.get("/destinations/{destination}")
def read_destination(hub: TheHub, venue: Id, destination: Id, response: Response) -> DestinationView:
    """One destination; its ETag for a change."""
    found, response.headers["ETag"] = hub.notify.destination(venue, destination)
    return found


@router.put("/destinations/{destination}")
def change_destination(
    hub: TheHub,
    venue: Id,
    destination: Id,
    body: Annotated[DestinationSettings, FromJson()],
    precondition: Preconditions,
    response: Response,
) -> DestinationView:
    """Change title, URL, routes or digest. What waits already stays as it was decided."""
    found, response.headers["ETag"] = hub.notify.change(venue, destination, body, precondition)
    return found


@router.delete("/destinations/{destination}", status_code=HTTPStatus.NO_CONTENT)
def remove_destination(hub: TheHub, venue: Id, destination: Id) -> None:
    """Tell a destination nothing more; its notices go with it."""
    hub.notify.remove(venue, destination)


@router.post("/destinations/{destination}/test")
def test_destination(hub: TheHub, venue: Id, destination: Id) -> Tested:
    """Send a test message now, or one heartbeat, and say how it went; up to half a minute."""
    return hub.notify.test(venue, destination)


@router.get("/notices")
def notices(
    hub: TheHub,
    venue: Id,
    wanted: WantedPage,
    state: Annotated[NoticeState | None, Query(description="Only these; `dead` are those given up.")] = None,
    destination: Annotated[Id | None, Query(description="Only this destination's.")] = None,
) -> Page[NoticeView]:
    """What was told, waits or was given up, newest first. Delivered ones are kept for 30 days, dead ones for 90."""
    found = hub.notify.notices(venue, state, destination, wanted.after_number, wanted.limit + 1)
    return wanted.page(found, lambda notice: notice.id)


@router.post("/notices/{notice}/resend")
def resend_notice(hub: TheHub, venue: Id, notice: NoticeId) -> NoticeView:
    """Try again, at once, to deliver what waits or was given up; 409 where it is neither."""
    return hub.notify.resend(venue, _notice_number(notice))


@router.delete("/notices/{notice}", status_code=HTTPStatus.NO_CONTENT)
def drop_notice(hub: TheHub, venue: Id, notice: NoticeId) -> None:
    """Give up for good what waits or was given up; 409 where it is neither."""
    hub.notify.drop(venue, _notice_number(notice))


def _notice_number(notice: str) -> int:
    number = _number(notice)
    if number is None:
        raise NotFoundError("notice", notice)
    return number


def _number(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= MAX_ID_DIGITS else None
