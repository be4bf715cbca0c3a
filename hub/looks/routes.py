"""REST of the library of looks, and of adding one to a venue as a scene."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import BaseModel, Field

from hub.api.etag import Precondition, Preconditions, etag_of
from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.inventory.kinds import SCENES
from hub.looks.library import look_of, looks
from hub.looks.look import Look, LookLayer, LookZones, RoleOfLook
from hub.looks.making import require_zones, scene_of
from schemas.contract import Contract, Id, Title
from schemas.scene import Scene

router = APIRouter(tags=["looks"])
_CREATE = Precondition(if_none_match="*")


class LookView(BaseModel):
    """A look of the library. Its layers' `zone` is a role, which a zone of the venue will play."""

    id: str
    title: str
    place: str = Field(description="The kind of place and hour that it is for.")
    note: str
    roles: list[RoleOfLook]
    layers: list[LookLayer]

    @classmethod
    def of(cls, look: Look) -> "LookView":
        return cls(
            id=look.id,
            title=look.title,
            place=look.place,
            note=look.note,
            roles=list(look.roles),
            layers=list(look.layers),
        )


class LookAdded(Contract):
    """How a look becomes a scene of a venue."""

    zones: LookZones
    id: Annotated[Id | None, Field(description="Id of the scene; the look's own without it.")] = None
    title: Annotated[Title | None, Field(description="Title of the scene; the look's own without it.")] = None


@router.get("/looks")
def list_looks(wanted: WantedPage) -> Page[LookView]:
    """Looks that fit any venue, each with the roles that it has something for."""
    return wanted.page_of_all([LookView.of(look) for look in looks().values()], lambda look: look.id)


@router.get("/looks/{look}")
def read_look(look: Id) -> LookView:
    """One look."""
    return LookView.of(look_of(look))


@router.post(
    "/venues/{venue}/looks/{look}",
    status_code=HTTPStatus.CREATED,
    responses={HTTPStatus.OK: {"model": Scene, "description": "A scene of that id was replaced."}},
)
def add_look(
    hub: TheHub,
    venue: Id,
    look: Id,
    body: Annotated[LookAdded, FromJson()],
    precondition: Preconditions,
    response: Response,
) -> Scene:
    """Add a look to the venue as a scene over its zones; from then on it is a scene like any other.

    Refused (422) where the venue has no such zone or would then have a mistake. A scene of that id is replaced only
    with If-Match (412 else).
    """
    chosen = look_of(look)
    require_zones(hub.inventory.venue(venue), body.zones)
    scene = scene_of(chosen, body.zones, scene_id=body.id, title=body.title)
    stated = precondition.if_match is not None or precondition.if_none_match is not None
    if not hub.inventory.put(SCENES, venue, scene, precondition if stated else _CREATE):
        response.status_code = HTTPStatus.OK
    response.headers["ETag"] = etag_of(scene)
    return scene
