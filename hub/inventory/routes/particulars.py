"""REST of a venue's particulars."""

from typing import Annotated

from fastapi import APIRouter, Response

from hub.api.etag import Preconditions, etag_of
from hub.api.json_body import FromJson
from hub.app import TheHub
from hub.inventory.particulars import Particulars, particulars_of, set_particulars
from schemas.contract import Id

router = APIRouter(prefix="/particulars", tags=["inventory"])


@router.get("")
def read_particulars(hub: TheHub, venue: Id, response: Response) -> Particulars:
    """What the venue says of itself beside its items, with place and time zone; its ETag for a change."""
    found = particulars_of(hub.inventory.venue(venue))
    response.headers["ETag"] = etag_of(found)
    return found


@router.put("")
def put_particulars(
    hub: TheHub, venue: Id, body: Annotated[Particulars, FromJson()], precondition: Preconditions, response: Response
) -> Particulars:
    """Change them. Refused (422) where the venue would then have a mistake, such as sunset in the timetable of a venue
    with no place.

    Another place or time zone moves the timed takes of the days to come, and begins other days of energy.
    """
    kept = set_particulars(hub.inventory, venue, body, precondition)
    response.headers["ETag"] = etag_of(kept)
    return kept
