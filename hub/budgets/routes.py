"""REST of budgets: who may draw how much of each supply, and a person's word that a board is gone."""

from http import HTTPStatus
from typing import Annotated

from fastapi import APIRouter, Query

from hub.api.pages import Page, WantedPage
from hub.app import TheHub
from hub.budgets.view import SupplyBudget
from schemas.contract import Id

OneSupply = Annotated[Id | None, Query(description="Only this supply.")]

router = APIRouter(prefix="/venues/{venue}", tags=["budgets"])


@router.get("/budgets")
def budgets(hub: TheHub, venue: Id, wanted: WantedPage, supply: OneSupply = None) -> Page[SupplyBudget]:
    """Each supply's budget with what every node on it is granted, what is reserved for it, and whether it confirmed."""
    views = [view for view in hub.budgets.budgets(venue) if supply in (None, view.supply)]
    return wanted.page_of_all(views, lambda view: view.supply)


@router.delete("/reservations/{node}", status_code=HTTPStatus.NO_CONTENT)
def release_reservation(hub: TheHub, venue: Id, node: Id) -> None:
    """Say that a board is off for good, or gone, so that other nodes may have what is reserved for it.

    Only where that is so: a board that still has power keeps lighting its pixels as it was last told, and its share
    would be given away twice, which may overheat wire and supply. Take its fuse or its supply's plug out first, and
    erase the state of a board before it is used again. 409 while the node is connected.
    """
    hub.budgets.release(venue, node)
