"""REST of energy."""

from datetime import date
from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query, Response

from hub.app import Hub, TheHub
from hub.energy.account import account_of, csv_of
from hub.energy.days import day_before
from hub.energy.service import KEPT_DAYS
from hub.energy.table import EnergyBy
from hub.energy.view import EnergyAccount
from hub.errors import InvalidError, Mistake
from schemas.contract import Id

USUAL_DAYS = 30
CSV = "text/csv"

router = APIRouter(prefix="/venues/{venue}", tags=["energy"])

From = Annotated[
    str | None,
    Query(
        alias="from",
        json_schema_extra={"format": "date"},
        description=f"First local day, YYYY-MM-DD; without it {USUAL_DAYS} days up to the last.",
    ),
]
To = Annotated[
    str | None,
    Query(
        alias="to",
        json_schema_extra={"format": "date"},
        description="Last local day, YYYY-MM-DD; without it today.",
    ),
]
By = Annotated[EnergyBy, Query(description="What each row is about.")]


@router.get("/energy")
def energy(hub: TheHub, venue: Id, first: From = None, last: To = None, by: By = EnergyBy.SUPPLY) -> EnergyAccount:
    """Amp-hours, kilowatt-hours on the DC side and from the mains, and their cost, by supply, node or day.

    Counted from the boards' own counters, which lost telemetry cannot falsify; kept for three years.
    """
    return _account(hub, venue, first, last, by)


@router.get("/energy.csv", response_class=Response, responses={HTTPStatus.OK: {"content": {CSV: {}}}})
def energy_csv(hub: TheHub, venue: Id, first: From = None, last: To = None, by: By = EnergyBy.SUPPLY) -> Response:
    """The rows of the account as CSV (RFC 4180), with a header; cost and currency are empty without a tariff."""
    account = _account(hub, venue, first, last, by)
    name = f"{venue}-energy-by-{by.value}-{account.first_day}-{account.last_day}.csv"
    return Response(csv_of(account), media_type=CSV, headers={"Content-Disposition": f'attachment; filename="{name}"'})


def _account(hub: Hub, venue: str, first: str | None, last: str | None, by: EnergyBy) -> EnergyAccount:
    stated = hub.inventory.venue(venue)
    last_day = _day("query.to", last) or hub.energy.today(venue)
    first_day = _day("query.from", first) or day_before(last_day, USUAL_DAYS - 1)
    if first_day > last_day:
        mistake = Mistake(
            "query.from", f"{first_day} is after the last day, {last_day}", "send an earlier `from` or a later `to`"
        )
        raise InvalidError("the days end before they begin", [mistake])
    kept = max(first_day, day_before(last_day, KEPT_DAYS))
    sums = hub.energy.sums(venue, kept, last_day, by)
    return account_of(sums, first_day, last_day, by, stated.tariff, stated.time_zone)


def _day(field: str, text: str | None) -> date | None:
    """A day as the API writes it and no other way: Python would take some more forms of ISO 8601."""
    if text is None:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is not None and day.isoformat() == text:
        return day
    shown = ascii(text[:20])
    mistake = Mistake(field, f"{shown} is no day of the calendar", "write it as YYYY-MM-DD, such as 2031-05-01")
    raise InvalidError("a day cannot be read", [mistake])
