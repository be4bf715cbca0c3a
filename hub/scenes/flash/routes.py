"""REST of flash checks: of a scene of the venue, and of a draft in the body."""

from typing import Annotated

from fastapi import APIRouter, Query

from hub.api.json_body import FromJson
from hub.app import TheHub
from hub.scenes.flash.check import USUAL_DISTANCE_M
from hub.scenes.flash.report import FlashReport, FlashReports
from schemas.contract import Id
from schemas.scene import Scene

router = APIRouter(prefix="/venues/{venue}", tags=["scenes"])

Distance = Annotated[
    float, Query(ge=1, le=1_000, allow_inf_nan=False, description="How far the nearest people are from the front, m.")
]


@router.get("/scenes/{scene}/flash")
def flash(hub: TheHub, venue: Id, scene: Id, distance_m: Distance = USUAL_DISTANCE_M) -> FlashReport:
    """A scene held against the published thresholds of general and red flashes (WCAG 2.2 SC 2.3.1; ITU-R BT.1702).

    Over its whole period, as the nodes show it after the budget limiter, with areas from the elevation: when, where,
    how many a second, and how much slower it passes. A scene that fails is taken only with a person's name.
    """
    return hub.flashes.report(venue, scene, distance_m)


@router.get("/flash")
def flashes(hub: TheHub, venue: Id) -> FlashReports:
    """What the flash checks of the venue's scenes have found so far.

    The hub makes them by itself, one after another, and anew when something changes that they rest on: ask again while
    some are unchecked.
    """
    return hub.flashes.known(venue)


@router.post("/previews/flash")
def flash_of_draft(
    hub: TheHub, venue: Id, scene: Annotated[Scene, FromJson()], distance_m: Distance = USUAL_DISTANCE_M
) -> FlashReport:
    """The same for a draft that the venue need not hold; nothing of it is kept. Refused (422) where a layer does not
    fit the venue.
    """
    return hub.flashes.report(venue, scene, distance_m)
