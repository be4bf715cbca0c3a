"""REST of planned work, which mutes findings."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Path, Query, Response

from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.api.tokens import ThePerson
from hub.app import TheHub
from hub.health.mute_view import MuteRequest, MuteView
from hub.health.routes import MAX_ID_DIGITS
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}/mutes", tags=["findings"])


@router.get("")
def mutes(
    hub: TheHub,
    venue: Id,
    wanted: WantedPage,
    over: Annotated[bool, Query(description="Those that are over, too.")] = False,
) -> Page[MuteView]:
    """Planned work, newest first: what goes on and what is to come."""
    hub.roster.titles(venue)
    found = hub.health.mutes(venue, wanted.after_number, wanted.limit + 1, over=over)
    return wanted.page(found, lambda mute: mute.id)


@router.post("", status_code=HTTPStatus.CREATED)
def add_mute(hub: TheHub, venue: Id, wanted: Annotated[MuteRequest, FromJson()], person: ThePerson) -> MuteView:
    """Plan work on nodes, zones, or everything: what it covers is shown and told to nobody while it lasts.

    What is still wrong at its end is told then.
    """
    return hub.health.mute(hub.inventory.venue(venue), wanted, person)


@router.delete("/{mute}", status_code=HTTPStatus.NO_CONTENT)
def lift_mute(
    hub: TheHub, venue: Id, mute: Annotated[int, Path(ge=1, lt=10**MAX_ID_DIGITS)], person: ThePerson
) -> Response:
    """End planned work now: what is still wrong is told. 409 where it is over already."""
    hub.health.unmute(venue, mute, person)
    return Response(status_code=HTTPStatus.NO_CONTENT)
