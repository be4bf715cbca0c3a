"""Wires the rooms into one hub and one FastAPI application; holds no rules of its own."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, FastAPI, Request
from sqlalchemy import Engine

from hub.api.body_limit import BodyLimit
from hub.api.openapi import describe
from hub.api.problem import install_problems
from hub.api.queries import known_queries_only
from hub.api.tokens import TokenGuard, TokenService
from hub.audit import AuditService
from hub.broker.credentials import CredentialService
from hub.budgets import BudgetService
from hub.controls import ControlService
from hub.cues import CueService
from hub.energy import EnergyService
from hub.events.bus import EventBus
from hub.fault_finding.service import FaultFindingService
from hub.fleet.asks import AskService
from hub.fleet.roster import Roster
from hub.fleet.views import NodeViews
from hub.health.service import HealthService
from hub.history import HistoryService
from hub.inventory.service import InventoryService
from hub.load import LoadService
from hub.metrics import MetricsService
from hub.notify import NotifyService
from hub.readiness import ReadinessService
from hub.rollout import RolloutService
from hub.rollout.dry_run_service import DryRunService
from hub.scenes import SceneService
from hub.scenes.flash.service import FlashService
from hub.settings import Settings
from hub.timetable.service import TimetableService
from hub.web.page import mount_page
from schemas.bounds import MAX_VENUE_FILE_BYTES

API = "/api/v1"


@dataclass(slots=True)
class Hub:
    """The services of a running hub, as routes reach them. Each room adds its service here, by one field."""

    settings: Settings
    engine: Engine
    tokens: TokenService
    rollouts: RolloutService
    dry_runs: DryRunService
    controls: ControlService
    cues: CueService
    budgets: BudgetService
    scenes: SceneService
    flashes: FlashService
    audit: AuditService
    credentials: CredentialService
    health: HealthService
    metrics: MetricsService
    readiness: ReadinessService
    fault_findings: FaultFindingService
    history: HistoryService
    energy: EnergyService
    load: LoadService
    notify: NotifyService
    asks: AskService
    node_views: NodeViews
    roster: Roster
    events: EventBus
    inventory: InventoryService
    timetables: TimetableService


def hub_of(request: Request) -> Hub:
    """FastAPI dependency: the hub behind this application."""
    hub: Hub = request.app.state.hub
    return hub


TheHub = Annotated[Hub, Depends(hub_of)]


def bare_application() -> FastAPI:
    """The application without a hub behind it: enough to describe it."""
    # No page of documentation: FastAPI's loads its scripts from outside, and a venue may have no way out.
    app = FastAPI(
        openapi_url=f"{API}/openapi.json",
        docs_url=None,
        redoc_url=None,
        separate_input_output_schemas=False,
        generate_unique_id_function=lambda route: route.name,
        dependencies=[Depends(known_queries_only)],
    )
    describe(app)
    install_problems(app)
    app.add_middleware(BodyLimit, max_bytes=MAX_VENUE_FILE_BYTES)
    app.add_middleware(TokenGuard)
    from hub.api.routers import METRICS, ROUTERS  # not at the top: routes import this module for `TheHub`

    for router in ROUTERS:
        app.include_router(router, prefix=API)
    app.include_router(METRICS)
    return app


def create_app(hub: Hub) -> FastAPI:
    """The application over a running hub. Services are started and stopped by whoever made them."""
    app = bare_application()
    app.state.hub = hub
    mount_page(app)
    return app
