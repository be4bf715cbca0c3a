"""REST of whole venues: list, read, load, export, check."""

from http import HTTPStatus
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Header, HTTPException, Query, Request, Response
from pydantic import BaseModel, Field

from hub.api.etag import Precondition, Preconditions, etag_of
from hub.api.pages import Page, WantedPage
from hub.api.problem import ProblemMistake
from hub.app import TheHub
from hub.errors import InvalidError, Mistake
from hub.inventory.routes.parameters import require_same_id
from hub.inventory.summary import VenueSummary
from hub.venue_file.difference import Change
from hub.venue_file.reading import read_venue
from hub.venue_file.writing import write_venue
from schemas.contract import Id
from schemas.venue import Venue

YAML = "application/yaml"
_YAML_TYPES = frozenset({"", YAML, "application/x-yaml", "text/yaml", "text/x-yaml", "text/plain"})

router = APIRouter(prefix="/venues", tags=["venues"])


class VenueLoaded(BaseModel):
    """What a load changed, or would change."""

    changes: list[Change]
    done: Annotated[bool, Field(description="False after a dry run.")]


class VenueChecked(BaseModel):
    """What is wrong with a venue file; nothing where it can be loaded."""

    mistakes: list[ProblemMistake]


class VenueFile:
    """A body that is a venue file, as bytes with its kind."""

    def __init__(self, data: bytes, *, is_json: bool) -> None:
        self._data, self._is_json = data, is_json

    def read(self) -> Venue:
        return read_venue(self._data, is_json=self._is_json)


async def _venue_file(request: Request) -> VenueFile:
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/json" and kind not in _YAML_TYPES:
        raise HTTPException(
            HTTPStatus.UNSUPPORTED_MEDIA_TYPE, f"send the venue as {YAML} or application/json, not {kind}"
        )
    body = await request.body()
    if not body:
        missing = Mistake("body", "the request has no body", "send the venue file as the request's body")
        raise InvalidError("a venue file is needed", [missing])
    return VenueFile(body, is_json=kind == "application/json")


TheVenueFile = Annotated[VenueFile, Depends(_venue_file)]
_YAML_FILE = {"schema": {"type": "string", "description": "A venue file as a person writes it."}}
_VENUE_REFERENCE = {"schema": {"$ref": "#/components/schemas/Venue"}}
_ANYTHING = {"schema": {"description": "Whatever is to be judged: what is wrong with it is the answer."}}


def _file_body(yaml: dict[str, Any], json: dict[str, Any]) -> dict[str, Any]:
    content = {YAML: yaml, "application/json": json}
    return {"requestBody": {"required": True, "description": "The whole venue file.", "content": content}}


@router.get("")
def list_venues(hub: TheHub, wanted: WantedPage) -> Page[VenueSummary]:
    """Every venue with the number of its parts, by id."""
    return wanted.page_of_all(hub.inventory.summaries(), lambda venue: venue.id)


@router.post("/check", openapi_extra=_file_body(_ANYTHING, _ANYTHING))
def check_venue_file(file: TheVenueFile) -> VenueChecked:
    """Every mistake in a venue file, with its line. Nothing is stored."""
    try:
        file.read()
    except InvalidError as error:
        return VenueChecked(mistakes=[ProblemMistake.of(mistake) for mistake in error.mistakes])
    return VenueChecked(mistakes=[])


@router.get("/{venue}", responses={HTTPStatus.NOT_MODIFIED: {"description": "It is still what `If-None-Match` says."}})
def read_venue_document(
    hub: TheHub,
    venue: Id,
    response: Response,
    if_none_match: Annotated[str | None, Header(max_length=2_000, description="ETag of what you have.")] = None,
) -> Venue:
    """The whole venue; its ETag for a change."""
    found = hub.inventory.venue(venue)
    etag = etag_of(found)
    if if_none_match is not None and Precondition(if_none_match=if_none_match).lists(etag):
        return Response(status_code=HTTPStatus.NOT_MODIFIED, headers={"ETag": etag})  # type: ignore[return-value]
    response.headers["ETag"] = etag
    return found


@router.put(
    "/{venue}",
    openapi_extra=_file_body(_YAML_FILE, _VENUE_REFERENCE),
    responses={HTTPStatus.CREATED: {"model": VenueLoaded, "description": "The venue is new."}},
)
def load_venue(
    hub: TheHub,
    venue: Id,
    file: TheVenueFile,
    precondition: Preconditions,
    response: Response,
    dry_run: Annotated[
        bool, Query(description="Say what would change, and change nothing. Needs no precondition.")
    ] = False,
) -> VenueLoaded:
    """Load a whole venue in the place of what was there. All of it is stored, or nothing."""
    wanted = file.read()
    require_same_id("id", venue, wanted.id)
    if dry_run:
        condition = None if precondition == Precondition() else precondition
        return VenueLoaded(changes=hub.inventory.preview_load(wanted, condition), done=False)
    changes = hub.inventory.load(wanted, precondition)
    if any(change.noun == "venue" and change.kind == "added" for change in changes):
        response.status_code = HTTPStatus.CREATED
    response.headers["ETag"] = etag_of(wanted)
    return VenueLoaded(changes=changes, done=True)


@router.get("/{venue}/export", response_class=Response, responses={HTTPStatus.OK: {"content": {YAML: {}}}})
def export_venue(hub: TheHub, venue: Id) -> Response:
    """The venue as a file that a person can read and edit; loading it gives the same venue."""
    found = hub.inventory.venue(venue)
    headers = {"ETag": etag_of(found), "Content-Disposition": f'attachment; filename="{venue}.yaml"'}
    return Response(write_venue(found), media_type=YAML, headers=headers)
