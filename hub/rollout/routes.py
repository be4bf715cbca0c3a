"""REST of rollouts: take a scene everywhere, see how it went, go back."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Path
from pydantic import Field, StringConstraints

from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.errors import InvalidError, Mistake
from hub.rollout.service import DEFAULT_FADE_MS
from hub.rollout.view import RolloutView
from schemas.bounds import MAX_TITLE
from schemas.contract import Contract, Id
from schemas.fade import FadeMs

router = APIRouter(prefix="/venues/{venue}", tags=["rollouts"])
MAX_REVISION_DIGITS = 16
PersonName = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=MAX_TITLE, pattern=r"^[^\x00-\x1f\x7f-\x9f]+$"),
]
RevisionPath = Annotated[int, Path(ge=1, le=2**53 - 1)]


class TakeRequest(Contract):
    """A scene to take on every node of the venue at one instant."""

    scene: Annotated[Id | None, Field(description="Null is darkness.")]
    fade_ms: FadeMs = DEFAULT_FADE_MS
    flash_confirmed_by: Annotated[
        PersonName | None,
        Field(description="Who confirms that the scene may go out although it fails the flash check; else not needed."),
    ] = None


@router.post("/takes", status_code=HTTPStatus.ACCEPTED)
def take(hub: TheHub, venue: Id, wanted: Annotated[TakeRequest, FromJson()]) -> RolloutView:
    """Take a scene everywhere at one show time, or nowhere.

    The rollout is answered while it is being staged: follow it by its revision or the event stream. It halts, and
    nothing changes anywhere, when a node refuses or is online and does not answer. 409 while another is under way.

    A scene that fails the flash check (`scenes/{scene}/flash`) needs the name of a person who confirms it, or is a 409
    that says what was found; one that was not checked yet is checked first, which may take some seconds.
    """
    return hub.rollouts.take(venue, wanted.scene, wanted.fade_ms, flash_confirmed_by=wanted.flash_confirmed_by)


@router.get("/rollouts")
def rollouts(hub: TheHub, venue: Id, wanted: WantedPage) -> Page[RolloutView]:
    """Rollouts of the venue, newest first."""
    items = hub.rollouts.page(venue, _revision(wanted.after), wanted.limit + 1)
    return wanted.page(items, lambda rollout: str(rollout.revision))


@router.post("/rollouts/back", status_code=HTTPStatus.ACCEPTED)
def back(hub: TheHub, venue: Id) -> RolloutView:
    """Take what was taken before the revision in force, venue and scene as they then were, as a new revision.

    Who confirmed the flashes of its scene then is named again. 409 for one that fails the flash check and was never
    confirmed: take its scene instead, with a name.
    """
    return hub.rollouts.back(venue)


@router.get("/rollouts/{revision}")
def rollout(hub: TheHub, venue: Id, revision: RevisionPath) -> RolloutView:
    """One rollout. The newest 50 are kept."""
    return hub.rollouts.rollout(venue, revision)


def _revision(cursor: str | None) -> int | None:
    if cursor is None:
        return None
    known = cursor.isascii() and cursor.isdecimal() and len(cursor) <= MAX_REVISION_DIGITS
    if not known or not 0 < int(cursor) < 2**53:
        mistake = Mistake("query.cursor", "not a cursor of this list", "send `next` of the page before")
        raise InvalidError("the cursor is not one of this list's", [mistake])
    return int(cursor)
