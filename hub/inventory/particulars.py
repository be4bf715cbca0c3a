"""What a venue says of itself beside its items: names, opening scene, tariff, place, time zone, who approves."""

from dataclasses import replace
from typing import Annotated

from pydantic import Field

from hub.api.etag import Precondition, etag_of
from hub.errors import InvalidError
from hub.inventory.service import InventoryService
from schemas.contract import Contract, Id, Text, Title
from schemas.timetable import Place, TimeZoneName
from schemas.venue import Tariff, Venue


class Particulars(Contract):
    """All of them together: what is left out is as if the venue file left it out."""

    title: Title
    note: Text = ""
    opening_scene: Annotated[Id | None, Field(description="Taken when the venue shows nothing yet.")] = None
    tariff: Tariff | None = None
    place: Annotated[Place | None, Field(description="Where it stands, for the sun.")] = None
    time_zone: TimeZoneName = "UTC"
    approves_rollouts: Annotated[
        bool, Field(description="A rollout that a person plans waits until a second person approves it.")
    ] = False


def particulars_of(venue: Venue) -> Particulars:
    return Particulars.model_construct(**{name: getattr(venue, name) for name in Particulars.model_fields})


def set_particulars(
    inventory: InventoryService, venue: str, wanted: Particulars, precondition: Precondition
) -> Particulars:
    """Put them in the place of those that there are.

    Raises NotFoundError, StaleError, and InvalidError where the venue would then have a mistake, an entry of the
    timetable that needs the place for one.
    """

    def rewrite(current: Venue) -> Venue:
        precondition.check(etag_of(particulars_of(current)))
        return current.model_copy(update={name: getattr(wanted, name) for name in Particulars.model_fields})

    try:
        return particulars_of(inventory.change(venue, rewrite))
    except InvalidError as error:
        own = [
            replace(one, field=f"body.{one.field}") if one.field in Particulars.model_fields else one
            for one in error.mistakes
        ]
        raise InvalidError(error.detail, own) from error
