"""REST for whoever watches over the hub's process. No token: what restarts a service has none."""

from http import HTTPStatus
from typing import Any, Final

from fastapi import APIRouter, Response
from pydantic import BaseModel

from hub.app import TheHub
from hub.readiness.service import ReadinessView

router = APIRouter(tags=["readiness"])

_OPEN: Final[dict[str, Any]] = {"security": []}


class LivenessView(BaseModel):
    """The process answers."""

    live: bool = True


@router.get("/live", openapi_extra=_OPEN)
async def live() -> LivenessView:
    """Whether the process answers at all: where it does not, restart it. Needs no token."""
    return LivenessView()


@router.get(
    "/ready",
    openapi_extra=_OPEN,
    responses={HTTPStatus.SERVICE_UNAVAILABLE: {"model": ReadinessView, "description": "A part is at fault."}},
)
def ready(hub: TheHub, response: Response) -> ReadinessView:
    """Whether database, broker link and fleet loop do their work; 503 names the part at fault. Needs no token.

    A restart of the hub mends none of the first two: nodes go on by themselves meanwhile.
    """
    found = hub.readiness.look()
    if not found.ready:
        response.status_code = HTTPStatus.SERVICE_UNAVAILABLE
    return found
