"""REST of the audit."""

from fastapi import APIRouter

from hub.app import TheHub
from hub.electrical.view import Audit
from schemas.contract import Id

router = APIRouter(prefix="/venues/{venue}", tags=["audit"])


@router.get("/audit")
def audit(hub: TheHub, venue: Id) -> Audit:
    """Each supply's rating, budget, worst case, scene peak, typical draw and what telemetry told, with a verdict.

    `within`: every emitter may be full. `only-under-budget`: safe because the nodes keep to the budget on every frame.
    `overloaded`: the typical draw, or the dark pixels alone, exceed the budget.
    """
    return hub.audit.audit(venue)
