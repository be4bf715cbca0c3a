"""REST of the scene language, which is the same for every venue."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Header, Response

from hub.api.etag import Precondition, etag_of
from hub.statements.language import SceneLanguage, scene_language

router = APIRouter(prefix="/patterns", tags=["scenes"])


@router.get("", responses={HTTPStatus.NOT_MODIFIED: {"description": "It is still what `If-None-Match` says."}})
def read_scene_language(
    response: Response,
    if_none_match: Annotated[str | None, Header(max_length=2_000, description="ETag of what you have.")] = None,
) -> SceneLanguage:
    """All that a scene may say: every pattern with its parameters (unit, range, default, a sentence) and an example.

    Beside them the fields of a layer and the forms of a colour. It changes only with the hub's version: keep it with
    its ETag.
    """
    language = scene_language()
    etag = etag_of(language)
    if if_none_match is not None and Precondition(if_none_match=if_none_match).lists(etag):
        return Response(status_code=HTTPStatus.NOT_MODIFIED, headers={"ETag": etag})  # type: ignore[return-value]
    response.headers["ETag"] = etag
    return language
