"""REST of the elevation and its live frames."""

from collections.abc import AsyncIterator
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Query
from fastapi.responses import StreamingResponse
from starlette.concurrency import run_in_threadpool

from hub.app import TheHub
from hub.scenes.elevation import Elevation
from hub.scenes.frames import Viewer
from hub.scenes.showing import Showing
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}", tags=["scenes"])

FRAMES: Final[dict[int | str, dict[str, Any]]] = {
    200: {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}}
}


def stream_of(records: AsyncIterator[bytes]) -> StreamingResponse:
    """An endless answer of records."""
    return StreamingResponse(records, media_type="application/octet-stream", headers={"Cache-Control": "no-store"})


@router.get("/elevation")
def elevation(hub: TheHub, venue: Id) -> Elevation:
    """Where every pixel lies, in metres on the front, and its place in a frame of `elevation/frames`.

    Of the venue as it is in force, so that it fits the frames; as it was loaded where nothing is in force.
    """
    return hub.scenes.elevation(venue)


@router.get("/showing")
def what_shows(hub: TheHub, venue: Id) -> Showing:
    """The scene that each node is to show now, since when and by whose take, and the timed take that comes next.

    Timed takes, nodes that a take left apart and batches of a rollout are in it.
    """
    return hub.scenes.showing(venue)


async def _viewer(
    hub: TheHub,
    venue: Id,
    rate_hz: Annotated[float, Query(ge=0.1, le=30, description="Frames a second at most; a slow reader skips.")] = 20.0,
) -> AsyncIterator[Viewer]:
    # Before the answer begins, so that an unknown venue is a 404 and not an empty stream.
    await run_in_threadpool(hub.scenes.elevation, venue)
    viewer = hub.scenes.watch(venue, rate_hz)
    try:
        yield viewer
    finally:
        hub.scenes.leave(viewer)


@router.get("/elevation/frames", response_class=StreamingResponse, responses=FRAMES)
async def frames(viewer: Annotated[Viewer, Depends(_viewer)]) -> StreamingResponse:
    """The live colours of the elevation, as the nodes show them: after the budget limiter, crossfades included.

    An endless stream of records, little-endian: uint32 length of the rest, float64 show time in seconds, uint32
    revision (0 where nothing is in force), then R, G, B of 8 bits, sRGB-encoded, of every pixel in the order of the
    elevation. It ends when the elevation changes: read that anew, then follow again.
    """
    return stream_of(viewer)
