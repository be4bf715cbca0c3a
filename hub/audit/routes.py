"""REST of the audit."""

from fastapi import APIRouter

from hub.app import TheHub
from hub.audit.view import Audit
from hub.audit.wiring_view import RunVolts
from hub.electrical.levels import Level
from schemas.contract import ChannelNumber, Id

router = APIRouter(prefix="/venues/{venue}", tags=["audit"])


@router.get("/audit")
def audit(hub: TheHub, venue: Id) -> Audit:
    """Each supply's rating, budget, worst case, scene peak, typical draw and what telemetry told, with a verdict; each
    run's volts, feeds and fuses, with what is wrong or unknown about them.

    `within`: every emitter may be full. `only-under-budget`: safe because the nodes keep to the budget on every frame.
    `overloaded`: the typical draw, or the dark pixels alone, exceed the budget.
    """
    return hub.audit.audit(venue)


@router.get("/audit/runs/{node}/{channel}")
def run_volts(hub: TheHub, venue: Id, node: Id, channel: ChannelNumber, level: Level = Level.UNDER_BUDGET) -> RunVolts:
    """Volts at every pixel of a run, with all the venue at `level`: `typical`, `under-budget` (all pixels of a supply
    alike, as bright as its budget lets them be) or `worst-case`.
    """
    return hub.audit.volts(venue, node, channel, level)
