"""REST of live nodes: what they last said, and a person's questions to them."""

from typing import Annotated

from fastapi import APIRouter, Body
from pydantic import Field
from typing_extensions import TypeAliasType

from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.fleet.view import NodeStateView
from schemas import AskIdentify, AskTelemetry, AskTestPattern, AskWalk, Done
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}", tags=["nodes"])

# A named alias, for FastAPI would lift the discriminator of a nested Annotated out and garble the API document.
Question = TypeAliasType(
    "Question", Annotated[AskIdentify | AskWalk | AskTestPattern | AskTelemetry, Field(discriminator="kind")]
)


@router.get("/node-states")
def node_states(hub: TheHub, venue: Id, wanted: WantedPage) -> Page[NodeStateView]:
    """What each node last said of itself, by id: connection, revisions, frame rate, amps, clock, board."""
    return wanted.page_of_all(hub.node_views.states(venue), lambda view: view.node)


@router.post("/nodes/{node}/asks")
def ask(hub: TheHub, venue: Id, node: Id, question: Annotated[Question, FromJson(), Body()]) -> Done:
    """Ask a node to show itself: `identify` (breathes slowly), `walk` (one pixel after another), `test-pattern`; or to
    send `telemetry` more often.

    Answered when the node has said that it does. 409 when the node is off or declines, 503 when it does not answer.
    Each ends by itself; what it shows stays within the budget.
    """
    hub.roster.check_node(venue, node)
    return hub.asks.ask(venue, node, question)
