"""REST of pictures: a scene of the venue, or a draft in the body, as PNG, GIF and WebP."""

from typing import Annotated, Any, Final

from fastapi import APIRouter, Query
from fastapi.responses import Response

from hub.api.json_body import FromJson
from hub.app import TheHub
from hub.scenes.pictures.animation import USUAL_HZ, Format
from hub.scenes.pictures.moments import LONGEST_S, USUAL_S
from hub.scenes.pictures.size import MOST_INSTANTS
from hub.scenes.pictures.view import NARROWEST_PX, USUAL_PX, WIDEST_PX
from schemas.contract import Id
from schemas.scene import Scene

router = APIRouter(prefix="/venues/{venue}", tags=["scenes"])

_HEADERS: Final = {"Cache-Control": "no-store", "X-Content-Type-Options": "nosniff"}

Width = Annotated[
    int, Query(ge=NARROWEST_PX, le=WIDEST_PX, description="Width; the height follows from the elevation.")
]
Instants = Annotated[int, Query(ge=1, le=MOST_INSTANTS, description="Show times, spread over the scene's period.")]
Seconds = Annotated[
    float | None,
    Query(
        ge=0.1,
        le=LONGEST_S,
        allow_inf_nan=False,
        description=(
            "A scene whose period is longer is shown for this long and its loop jumps; a shorter one is shown for its "
            f"period. Without it {USUAL_S:g} s, or what a picture of that width may hold."
        ),
    ),
]
Rate = Annotated[
    float,
    Query(ge=1, le=Format.WEBP.fastest_hz, description=f"Frames a second; GIF has {Format.GIF.fastest_hz:g} at most."),
]
Draft = Annotated[Scene, FromJson()]


class PngResponse(Response):
    """A PNG."""

    media_type = "image/png"


class GifResponse(Response):
    """A GIF."""

    media_type = "image/gif"


class WebpResponse(Response):
    """A WebP."""

    media_type = "image/webp"


def _described(response: type[Response]) -> dict[str, Any]:
    schema = {"schema": {"type": "string", "format": "binary"}}
    return {"response_class": response, "responses": {200: {"content": {str(response.media_type): schema}}}}


@router.get("/scenes/{scene}/preview.png", **_described(PngResponse))
def preview_png(hub: TheHub, venue: Id, scene: Id, width_px: Width = USUAL_PX, instants: Instants = 6) -> PngResponse:
    """The front at night, lit by the scene, at some show times one below another, after the budget limiter.

    One picture is made at a time; 503 where others take too long.
    """
    return PngResponse(hub.scenes.strip(venue, scene, width_px=width_px, instants=instants), headers=_HEADERS)


@router.get("/scenes/{scene}/preview.gif", **_described(GifResponse))
def preview_gif(
    hub: TheHub, venue: Id, scene: Id, width_px: Width = USUAL_PX, seconds: Seconds = None, rate_hz: Rate = USUAL_HZ
) -> GifResponse:
    """The scene as it runs, in a loop over its period, limited as the boards do it; 256 colours for all frames."""
    made = hub.scenes.animation(venue, scene, Format.GIF, width_px=width_px, longest_s=seconds, rate_hz=rate_hz)
    return GifResponse(made, headers=_HEADERS)


@router.get("/scenes/{scene}/preview.webp", **_described(WebpResponse))
def preview_webp(
    hub: TheHub, venue: Id, scene: Id, width_px: Width = USUAL_PX, seconds: Seconds = None, rate_hz: Rate = USUAL_HZ
) -> WebpResponse:
    """As `preview.gif`, in full colour and smaller."""
    made = hub.scenes.animation(venue, scene, Format.WEBP, width_px=width_px, longest_s=seconds, rate_hz=rate_hz)
    return WebpResponse(made, headers=_HEADERS)


@router.post("/previews.png", **_described(PngResponse))
def draft_png(hub: TheHub, venue: Id, scene: Draft, width_px: Width = USUAL_PX, instants: Instants = 6) -> PngResponse:
    """As a scene's `preview.png`, of a draft that the venue need not hold."""
    return PngResponse(hub.scenes.strip(venue, scene, width_px=width_px, instants=instants), headers=_HEADERS)


@router.post("/previews.gif", **_described(GifResponse))
def draft_gif(
    hub: TheHub, venue: Id, scene: Draft, width_px: Width = USUAL_PX, seconds: Seconds = None, rate_hz: Rate = USUAL_HZ
) -> GifResponse:
    """As a scene's `preview.gif`, of a draft that the venue need not hold."""
    made = hub.scenes.animation(venue, scene, Format.GIF, width_px=width_px, longest_s=seconds, rate_hz=rate_hz)
    return GifResponse(made, headers=_HEADERS)


@router.post("/previews.webp", **_described(WebpResponse))
def draft_webp(
    hub: TheHub, venue: Id, scene: Draft, width_px: Width = USUAL_PX, seconds: Seconds = None, rate_hz: Rate = USUAL_HZ
) -> WebpResponse:
    """As a scene's `preview.webp`, of a draft that the venue need not hold."""
    made = hub.scenes.animation(venue, scene, Format.WEBP, width_px=width_px, longest_s=seconds, rate_hz=rate_hz)
    return WebpResponse(made, headers=_HEADERS)
