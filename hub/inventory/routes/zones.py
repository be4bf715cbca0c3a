"""REST of a venue's zones."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query, Response

from hub.api.etag import Preconditions, etag_of
from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.inventory import search
from hub.inventory.kinds import NODES, ZONES
from hub.inventory.routes.parameters import Text, require_same_id
from hub.inventory.rows import ZONE
from schemas.contract import Id
from schemas.venue import Zone

router = APIRouter(prefix="/zones", tags=["inventory"])


@router.get("")
def list_zones(
    hub: TheHub,
    venue: Id,
    wanted: WantedPage,
    text: Text = None,
    node: Annotated[Id | None, Query(description="Only zones with a span of their own on this node.")] = None,
) -> Page[Zone]:
    """Zones in the venue's order."""
    conditions = []
    if text is not None:
        conditions.append(search.has_text(ZONE, text))
    if node is not None:
        hub.inventory.item(NODES, venue, node)
        conditions.append(search.zone_on_node(node))
    return wanted.page_of_all(hub.inventory.find(ZONES, venue, *conditions), ZONES.id_of)


@router.get("/{zone}")
def read_zone(hub: TheHub, venue: Id, zone: Id, response: Response) -> Zone:
    """One zone; its ETag for a change."""
    found = hub.inventory.item(ZONES, venue, zone)
    response.headers["ETag"] = etag_of(found)
    return found


@router.put("/{zone}", responses={HTTPStatus.CREATED: {"model": Zone, "description": "Added."}})
def put_zone(
    hub: TheHub,
    venue: Id,
    zone: Id,
    body: Annotated[Zone, FromJson()],
    precondition: Preconditions,
    response: Response,
) -> Zone:
    """Change a zone, or add it at the end. Refused (422) where the venue would then have a mistake."""
    require_same_id("id", zone, body.id)
    if hub.inventory.put(ZONES, venue, body, precondition):
        response.status_code = HTTPStatus.CREATED
    response.headers["ETag"] = etag_of(body)
    return body


@router.delete("/{zone}", status_code=HTTPStatus.NO_CONTENT)
def remove_zone(hub: TheHub, venue: Id, zone: Id, precondition: Preconditions) -> None:
    """Take a zone away. Refused (422) where something still refers to it."""
    hub.inventory.remove(ZONES, venue, zone, precondition)
