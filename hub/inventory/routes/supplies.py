"""REST of a venue's supplies."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query, Response

from hub.api.etag import Preconditions, etag_of
from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.inventory import search
from hub.inventory.kinds import NODES, SUPPLIES
from hub.inventory.routes.parameters import Text, require_same_id
from hub.inventory.rows import SUPPLY
from schemas.contract import Id
from schemas.venue import Supply

router = APIRouter(prefix="/supplies", tags=["inventory"])


@router.get("")
def list_supplies(
    hub: TheHub,
    venue: Id,
    wanted: WantedPage,
    text: Text = None,
    volts: Annotated[float | None, Query(gt=0, le=60, description="Only supplies of these volts.")] = None,
    node: Annotated[Id | None, Query(description="Only supplies that feed this node.")] = None,
) -> Page[Supply]:
    """Supplies in the venue's order."""
    conditions = []
    if text is not None:
        conditions.append(search.has_text(SUPPLY, text))
    if volts is not None:
        conditions.append(search.supply_of_volts(volts))
    if node is not None:
        hub.inventory.item(NODES, venue, node)
        conditions.append(search.supply_of_node(node))
    return wanted.page_of_all(hub.inventory.find(SUPPLIES, venue, *conditions), SUPPLIES.id_of)


@router.get("/{supply}")
def read_supply(hub: TheHub, venue: Id, supply: Id, response: Response) -> Supply:
    """One supply; its ETag for a change."""
    found = hub.inventory.item(SUPPLIES, venue, supply)
    response.headers["ETag"] = etag_of(found)
    return found


@router.put("/{supply}", responses={HTTPStatus.CREATED: {"model": Supply, "description": "Added."}})
def put_supply(
    hub: TheHub,
    venue: Id,
    supply: Id,
    body: Annotated[Supply, FromJson()],
    precondition: Preconditions,
    response: Response,
) -> Supply:
    """Change a supply, or add it at the end. Refused (422) where the venue would then have a mistake."""
    require_same_id("id", supply, body.id)
    if hub.inventory.put(SUPPLIES, venue, body, precondition):
        response.status_code = HTTPStatus.CREATED
    response.headers["ETag"] = etag_of(body)
    return body


@router.delete("/{supply}", status_code=HTTPStatus.NO_CONTENT)
def remove_supply(hub: TheHub, venue: Id, supply: Id, precondition: Preconditions) -> None:
    """Take a supply away. Refused (422) where something still refers to it."""
    hub.inventory.remove(SUPPLIES, venue, supply, precondition)
