"""REST of a venue's master level."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from hub.api.json_body import FromJson
from hub.app import TheHub
from schemas.contract import Contract, Id
from schemas.venue import Level

router = APIRouter(prefix="/master-level", tags=["inventory"])


class MasterLevel(Contract):
    """Linear gain of everything that the venue shows."""

    level: Annotated[Level, Field(description="0 is dark, 1 leaves every scene as it is.")]


class MasterLevelSet(BaseModel):
    """The level before and now."""

    before: float
    level: float


@router.get("")
def read_master_level(hub: TheHub, venue: Id) -> MasterLevel:
    """The venue's master level."""
    return MasterLevel(level=hub.inventory.venue(venue).master_level)


@router.put("")
def set_master_level(hub: TheHub, venue: Id, body: Annotated[MasterLevel, FromJson()]) -> MasterLevelSet:
    """Set it. A rollout of the scene in force follows, as after any change of the venue.

    It needs no precondition: it is one number, and the last word stands.
    """
    return MasterLevelSet(before=hub.inventory.set_master_level(venue, body.level), level=body.level)
