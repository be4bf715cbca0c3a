"""REST of a venue's nodes as they are planned: outputs, channels, runs, feeds."""

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
from hub.inventory.rows import NODE
from schemas.contract import Id
from schemas.venue import Node

router = APIRouter(prefix="/nodes", tags=["inventory"])


@router.get("")
def list_nodes(
    hub: TheHub,
    venue: Id,
    wanted: WantedPage,
    text: Text = None,
    supply: Annotated[Id | None, Query(description="Only nodes that this supply feeds.")] = None,
    zone: Annotated[Id | None, Query(description="Only nodes with pixels in this zone, or in a zone it joins.")] = None,
    tag: Annotated[Id | None, Query(description="Only nodes with this tag.")] = None,
) -> Page[Node]:
    """Nodes in the venue's order."""
    conditions = []
    if text is not None:
        conditions.append(search.has_text(NODE, text))
    if supply is not None:
        hub.inventory.item(SUPPLIES, venue, supply)
        conditions.append(search.node_fed_by(supply))
    if zone is not None:
        conditions.append(search.node_in_zones(hub.inventory.zones_below(venue, zone)))
    if tag is not None:
        conditions.append(search.node_with_tag(tag))
    return wanted.page_of_all(hub.inventory.find(NODES, venue, *conditions), NODES.id_of)


@router.get("/{node}")
def read_node(hub: TheHub, venue: Id, node: Id, response: Response) -> Node:
    """One node; its ETag for a change."""
    found = hub.inventory.item(NODES, venue, node)
    response.headers["ETag"] = etag_of(found)
    return found


@router.put("/{node}", responses={HTTPStatus.CREATED: {"model": Node, "description": "Added."}})
def put_node(
    hub: TheHub,
    venue: Id,
    node: Id,
    body: Annotated[Node, FromJson()],
    precondition: Preconditions,
    response: Response,
) -> Node:
    """Change a node, or add it at the end. Refused (422) where the venue would then have a mistake."""
    require_same_id("id", node, body.id)
    if hub.inventory.put(NODES, venue, body, precondition):
        response.status_code = HTTPStatus.CREATED
    response.headers["ETag"] = etag_of(body)
    return body


@router.delete("/{node}", status_code=HTTPStatus.NO_CONTENT)
def remove_node(hub: TheHub, venue: Id, node: Id, precondition: Preconditions) -> None:
    """Take a node away. Refused (422) where something still refers to it."""
    hub.inventory.remove(NODES, venue, node, precondition)
