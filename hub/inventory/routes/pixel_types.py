"""REST of a venue's own pixel types, and of what a meter tells of one."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Response

from hub.api.etag import Preconditions, etag_of
from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.desired.compile import pixel_types_of
from hub.electrical.measured import MeasuredPixelType, MeterReading, measured_pixel_type
from hub.errors import NotFoundError
from hub.inventory.kinds import PIXEL_TYPES
from hub.inventory.routes.parameters import require_same_id
from schemas.contract import Contract, Id, Title
from schemas.pixel_type import PixelType

router = APIRouter(prefix="/pixel-types", tags=["inventory"])


class Measurement(Contract):
    """A meter's reading of a run, the pixel type it is like, and what the new one is to be called."""

    like: Id
    reading: MeterReading
    key: Id | None = None
    title: Title | None = None


@router.get("")
def list_pixel_types(hub: TheHub, venue: Id, wanted: WantedPage) -> Page[PixelType]:
    """Pixel types of the venue's own; those of the catalogue are there beside them, for every venue."""
    return wanted.page_of_all(hub.inventory.find(PIXEL_TYPES, venue), PIXEL_TYPES.id_of)


@router.post("/measure")
def measure_pixel_type(hub: TheHub, venue: Id, body: Annotated[Measurement, FromJson()]) -> MeasuredPixelType:
    """The pixel type that a reading tells of, beside the published one. Nothing is saved: PUT the answer's
    `pixel_type` to add it to the venue.
    """
    known = pixel_types_of(hub.inventory.venue(venue))
    if body.like not in known:
        raise NotFoundError("pixel type", body.like)
    return measured_pixel_type(body.reading, known[body.like], body.key, body.title)


@router.get("/{pixel_type}")
def read_pixel_type(hub: TheHub, venue: Id, pixel_type: Id, response: Response) -> PixelType:
    """One pixel type; its ETag for a change."""
    found = hub.inventory.item(PIXEL_TYPES, venue, pixel_type)
    response.headers["ETag"] = etag_of(found)
    return found


@router.put("/{pixel_type}", responses={HTTPStatus.CREATED: {"model": PixelType, "description": "Added."}})
def put_pixel_type(
    hub: TheHub,
    venue: Id,
    pixel_type: Id,
    body: Annotated[PixelType, FromJson()],
    precondition: Preconditions,
    response: Response,
) -> PixelType:
    """Change a pixel type, or add it at the end. Refused (422) where the venue would then have a mistake."""
    require_same_id("key", pixel_type, body.key)
    if hub.inventory.put(PIXEL_TYPES, venue, body, precondition):
        response.status_code = HTTPStatus.CREATED
    response.headers["ETag"] = etag_of(body)
    return body


@router.delete("/{pixel_type}", status_code=HTTPStatus.NO_CONTENT)
def remove_pixel_type(hub: TheHub, venue: Id, pixel_type: Id, precondition: Preconditions) -> None:
    """Take a pixel type away. Refused (422) where something still refers to it."""
    hub.inventory.remove(PIXEL_TYPES, venue, pixel_type, precondition)
