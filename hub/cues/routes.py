"""REST of cue lists: what they are, where one stands, taking it in hand and putting it down."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel

from hub.api.etag import Preconditions, etag_of
from hub.api.json_body import FromJson
from hub.app import TheHub
from hub.cues.view import CueListView
from hub.inventory.kinds import CUE_LISTS
from hub.inventory.routes.parameters import require_same_id
from schemas import CueList
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}/cue-lists", tags=["cue lists"])


class CueLists(BaseModel):
    """Every cue list of a venue."""

    items: list[CueListView]


@router.get("")
def list_cue_lists(hub: TheHub, venue: Id) -> CueLists:
    """The venue's cue lists in its order: which is in hand, which cue is on, and when the next follows."""
    return CueLists(items=hub.cues.lists(venue))


@router.get("/{cue_list}")
def read_cue_list(hub: TheHub, venue: Id, cue_list: Id, response: Response) -> CueList:
    """One list as it is written; its ETag for a change."""
    found = hub.inventory.item(CUE_LISTS, venue, cue_list)
    response.headers["ETag"] = etag_of(found)
    return found


@router.put("/{cue_list}", responses={HTTPStatus.CREATED: {"model": CueList, "description": "Added."}})
def put_cue_list(
    hub: TheHub,
    venue: Id,
    cue_list: Id,
    body: Annotated[CueList, FromJson()],
    precondition: Preconditions,
    response: Response,
) -> CueList:
    """Change a list, or add it at the end. One in hand goes on by the ids of its cues.

    What follows by itself was settled when a person took a cue: it changes with the next go.
    """
    require_same_id("id", cue_list, body.id)
    if hub.inventory.put(CUE_LISTS, venue, body, precondition):
        response.status_code = HTTPStatus.CREATED
    response.headers["ETag"] = etag_of(body)
    return body


@router.delete("/{cue_list}", status_code=HTTPStatus.NO_CONTENT)
def remove_cue_list(hub: TheHub, venue: Id, cue_list: Id, precondition: Preconditions) -> None:
    """Take a list away."""
    hub.inventory.remove(CUE_LISTS, venue, cue_list, precondition)


@router.post("/{cue_list}/start")
def start_cue_list(
    hub: TheHub,
    venue: Id,
    cue_list: Id,
    cue: Annotated[Id | None, Query(description="The cue that go takes next; the first one without it.")] = None,
) -> CueListView:
    """Take a list in hand; nothing is taken before the first go. Another list in hand is put down."""
    return hub.cues.start(venue, cue_list, cue)


@router.post("/{cue_list}/stop")
def stop_cue_list(hub: TheHub, venue: Id, cue_list: Id) -> CueListView:
    """Put the list down: what it shows stays, and nothing more follows by itself. 409 where it is not in hand."""
    return hub.cues.stop(venue, cue_list)
