"""REST of a venue's scenes."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query, Response

from hub.api.etag import Preconditions, etag_of
from hub.api.json_body import FromJson
from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.inventory import search
from hub.inventory.kinds import SCENES
from hub.inventory.routes.parameters import Text, require_same_id
from hub.inventory.rows import SCENE
from schemas.contract import Id
from schemas.scene import Scene

router = APIRouter(prefix="/scenes", tags=["scenes"])


@router.get("")
def list_scenes(
    hub: TheHub,
    venue: Id,
    wanted: WantedPage,
    text: Text = None,
    zone: Annotated[Id | None, Query(description="Only scenes that light pixels of this zone.")] = None,
) -> Page[Scene]:
    """Scenes in the venue's order."""
    conditions = [] if text is None else [search.has_text(SCENE, text)]
    scenes = hub.inventory.find(SCENES, venue, *conditions)
    if zone is not None:
        lit = hub.inventory.scenes_lighting(venue, zone)
        scenes = [scene for scene in scenes if scene.id in lit]
    return wanted.page_of_all(scenes, SCENES.id_of)


@router.get("/{scene}")
def read_scene(hub: TheHub, venue: Id, scene: Id, response: Response) -> Scene:
    """One scene; its ETag for a change."""
    found = hub.inventory.item(SCENES, venue, scene)
    response.headers["ETag"] = etag_of(found)
    return found


@router.put("/{scene}", responses={HTTPStatus.CREATED: {"model": Scene, "description": "Added."}})
def put_scene(
    hub: TheHub,
    venue: Id,
    scene: Id,
    body: Annotated[Scene, FromJson()],
    precondition: Preconditions,
    response: Response,
) -> Scene:
    """Change a scene, or add it at the end. Refused (422) where the venue would then have a mistake."""
    require_same_id("id", scene, body.id)
    if hub.inventory.put(SCENES, venue, body, precondition):
        response.status_code = HTTPStatus.CREATED
    response.headers["ETag"] = etag_of(body)
    return body


@router.delete("/{scene}", status_code=HTTPStatus.NO_CONTENT)
def remove_scene(hub: TheHub, venue: Id, scene: Id, precondition: Preconditions) -> None:
    """Take a scene away. Refused (422) where something still refers to it."""
    hub.inventory.remove(SCENES, venue, scene, precondition)
