"""REST of previews: a scene of the venue, a draft in the body, and a draft's frames on the elevation."""

from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import APIRouter, Depends, Query
from fastapi.responses import StreamingResponse
from starlette.concurrency import run_in_threadpool

from hub.api.json_body import FromJson
from hub.app import TheHub
from hub.scenes.draft_frames import DraftStream
from hub.scenes.preview import ScenePreview
from hub.scenes.routes import FRAMES, stream_of
from schemas.contract import Id
from schemas.scene import Scene

router = APIRouter(prefix="/venues/{venue}", tags=["scenes"])

Instant = Annotated[float, Query(ge=0, le=1e10, allow_inf_nan=False)]
Instants = Annotated[
    list[Instant] | None, Query(max_length=16, description="Show times to give colours of; chosen without it.")
]
Draft = Annotated[Scene, FromJson()]


@router.get("/scenes/{scene}/preview")
def preview(hub: TheHub, venue: Id, scene: Id, at_s: Instants = None) -> ScenePreview:
    """A scene before it is taken: colours at some instants, amps of each supply over its period, when the limiter acts.

    Rendered and limited by the boards' own code over the scene's whole period, or the first ten minutes of it.
    """
    return hub.scenes.preview(venue, scene, at_s or ())


@router.post("/previews")
def preview_draft(hub: TheHub, venue: Id, scene: Draft) -> ScenePreview:
    """The same for a draft that the venue need not hold; nothing of it is kept. Refused (422) where a layer does not
    fit the venue.
    """
    return hub.scenes.preview(venue, scene, ())


async def _stream(
    hub: TheHub,
    venue: Id,
    scene: Draft,
    rate_hz: Annotated[float, Query(ge=1, le=60, description="Frames a second at most; a slow reader skips.")] = 30.0,
) -> AsyncIterator[DraftStream]:
    # Before the answer begins, so that a mistake is a 422 and not an empty stream.
    lights = await run_in_threadpool(hub.scenes.draft_lights, venue, scene)
    stream = hub.scenes.watch_draft(lights, scene, rate_hz)
    try:
        yield stream
    finally:
        hub.scenes.leave_draft(stream)


@router.post("/previews/frames", response_class=StreamingResponse, responses=FRAMES)
async def draft_frames(stream: Annotated[DraftStream, Depends(_stream)]) -> StreamingResponse:
    """A draft as it would run on the elevation, limited as the nodes would do it: records of `elevation/frames`, their
    revision 0.

    It ends after ten minutes, and when the elevation changes: read that anew, then ask again.
    """
    return stream_of(stream)
