"""REST of node credentials."""

from http import HTTPStatus

from fastapi import APIRouter, Response

from hub.app import TheHub
from schemas import NodeCredential
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}", tags=["nodes"])


@router.post("/nodes/{node}/credential", status_code=HTTPStatus.CREATED)
def issue_credential(hub: TheHub, venue: Id, node: Id, response: Response) -> NodeCredential:
    """A new credential for a node's agent. The secret is told this once; the credential before it stops to open."""
    hub.roster.check_node(venue, node)
    response.headers["Cache-Control"] = "no-store"
    return hub.credentials.issue(venue, node)
